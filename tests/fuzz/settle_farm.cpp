// A farm from bytes, every arrangement settled or solved at its start levels: an answer that claims to be one keeps every promise (promise.h), and
// its balances hold when they are added up here from the flows of the pipes; one that does not says why in a sentence.
#include <algorithm>
#include <cmath>
#include <cstddef>
#include <cstdint>
#include <string>
#include <vector>

#include "solver/settle/farm.h"
#include "tests/fuzz/parts/extreme_farm.h"
#include "tests/fuzz/parts/must.h"
#include "tests/property/promise.h"

namespace {

using namespace ebb;

/// What comes to every tee less what goes, from the flows of the pipes alone.
void hold_balance_at_tees(const layout::Layout& layout, const settle::Answer& answer) {
    std::vector<double> gain_m3_s(layout.tees.size());
    const auto add = [&](const layout::End& end, double flow_m3_s) {
        if (end.ref.kind == layout::Kind::tee) gain_m3_s[static_cast<std::size_t>(end.ref.index)] += flow_m3_s;
    };
    for (std::size_t p = 0; p < layout.pipes.size(); ++p) {
        add(layout.pipes[p].from, -answer.pipes[p].flow_m3_s);
        add(layout.pipes[p].to, answer.pipes[p].flow_m3_s);
    }
    for (std::size_t t = 0; t < layout.tees.size(); ++t) {
        const double wanted_m3_s = layout.tees[t].takes_m3_s, most_m3_s = std::max(wanted_m3_s, test::largest_flow_m3_s(answer));
        if (!(std::abs(gain_m3_s[t] - wanted_m3_s) <= 2.0 * test::kMostImbalance * most_m3_s + test::kStillImbalance_m3_s))
            fuzz::broken("tee " + layout.tees[t].id + " is in balance, off by " + std::to_string(std::log10(std::abs(gain_m3_s[t] - wanted_m3_s))) +
                         " (log10 m3/s)");
    }
}

/// At rest nothing gains or loses: what runs in runs out, or over the rim.
void hold_rest(const layout::Layout& layout, const settle::Answer& answer) {
    for (std::size_t v = 0; v < answer.vessels.size(); ++v) {
        const auto& vessel = answer.vessels[v];
        const double gain_m3_s = vessel.inflow_m3_s - vessel.outflow_m3_s - vessel.spill_m3_s;
        const double most_m3_s = std::max({test::largest_flow_m3_s(answer), vessel.inflow_m3_s, vessel.spill_m3_s});
        if (!(std::abs(gain_m3_s) <= 1e-6 * most_m3_s + 1e-12))
            fuzz::broken("vessel " + layout.vessels[v].id + " is at rest, gains " + std::to_string(std::log10(std::abs(gain_m3_s))) +
                         " (log10 m3/s)");
    }
}

bool says(const settle::Answer& answer, const std::string& code) {
    return std::any_of(answer.warnings.begin(), answer.warnings.end(), [&](const settle::Warning& warning) { return warning.code == code; });
}

}  // namespace

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
    fuzz::Bytes bytes({data, size});
    const layout::Layout layout = fuzz::extreme_farm(bytes);
    settle::Farm farm(layout);
    for (std::int32_t a = 0; a < static_cast<std::int32_t>(layout.arrangements.size()); ++a) {
        const settle::Answer answer = farm.solve(a);
        fuzz::must(answer.state != settle::State::not_run, "an arrangement that is asked is solved");
        for (const auto& warning : answer.warnings) fuzz::must(!warning.says.empty(), "a warning says something");
        const bool at_start = layout.arrangements[static_cast<std::size_t>(a)].at_start_levels;
        const std::string broken = test::broken_in_silence(layout, layout::conditions_of(layout, a), at_start, answer);
        if (!broken.empty()) fuzz::broken(std::string(settle::name_of(answer.state)) + ": " + broken);
        if (answer.state == settle::State::no_solution || says(answer, "still-creeps")) continue;  // the one promise that is not kept is named
        hold_balance_at_tees(layout, answer);
        if (answer.state == settle::State::settled) hold_rest(layout, answer);
    }
    return 0;
}
