// `cycle --fill`: the first fill of a dry farm.

#include "cli/ask_each.h"
#include "cli/cycle_questions.h"
#include "cli/views/question_fill.h"
#include "cli/views/question_words.h"
#include "solver/time/first_fill.h"

namespace ebb::cli {

ExitStatus answer_fill(const CycleSession& session, QuestionPage& page) {
    std::vector<time::FillWanted> wanted;
    for (const std::int32_t arrangement : session.arrangements) {
        wanted.push_back({.arrangement = arrangement});
        wanted.back().hose_m3_s = session.request.hose_m3_s.value_or(wanted.back().hose_m3_s);
    }
    const auto judge = [](const time::FillAnswer& answer) {
        constexpr double kSpillM3 = 1e-6;
        const time::FillWay& way = way_to_follow(answer);
        return Told{status_of_course(way.course), way.spilled_m3 > kSpillM3};
    };
    return ask_each(session, wanted, &time::first_fill, judge, [&](const auto& answers) { write_fills(page, answers); });
}

}  // namespace ebb::cli
