// `--siphon-window BED`: how much water may run into a bed so that its siphon starts and breaks.

#include <fmt/format.h>

#include <algorithm>

#include "cli/cycle_questions.h"
#include "cli/messages.h"
#include "cli/views/question_window.h"
#include "cli/words.h"
#include "solver/time/siphon_window.h"

namespace ebb::cli {

ExitStatus answer_siphon_window(const CycleSession& session, QuestionPage& page) {
    const layout::Layout& layout = session.layout;
    std::vector<std::int32_t> siphons;
    std::vector<std::string> beds;
    for (std::size_t s = 0; s < layout.siphons.size(); ++s) {
        if (layout.siphons[s].in_id == session.request.siphon_window || layout.siphons[s].id == session.request.siphon_window) {
            siphons.push_back(static_cast<std::int32_t>(s));
        }
        if (std::find(beds.begin(), beds.end(), layout.siphons[s].in_id) == beds.end()) {
            beds.push_back(layout.siphons[s].in_id);
        }
    }
    if (siphons.empty()) {
        constexpr std::size_t kNamed = 8;
        tell(fmt::format("--siphon-window: there is no siphon in '{}'; {}", session.request.siphon_window,
                         beds.empty() ? "the layout has no siphons" : "there is one in " + in_few_words(beds, kNamed)));
        return ExitStatus::command_line;
    }
    time::Simulation simulation(layout, session.options);
    ExitStatus status = ExitStatus::fine;
    for (const std::int32_t arrangement : session.arrangements) {
        for (const std::int32_t siphon : siphons) {
            const time::SiphonWindow window = time::siphon_window(simulation, {.siphon = siphon, .arrangement = arrangement});
            if (session.options.stop.stop_requested()) {
                return ExitStatus::interrupted;
            }
            show_window(window, page);
            const bool outside = window.inflow_is == time::InflowIs::too_little || window.inflow_is == time::InflowIs::too_much;
            if (session.request.common.strict && (outside || window.empty)) {
                status = ExitStatus::target_missed;
            }
        }
    }
    return status;
}

}  // namespace ebb::cli
