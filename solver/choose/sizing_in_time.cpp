// Beds in time.
//
// A bed with V of water below its lip, fed with q while holes of its standpipe let out h on the mean, fills in V / (q - h). Where it took `got` and
// may take `wanted`, it needs
//        q' = h + (q - h) got / wanted;
// h is two thirds of what the holes let out at the lip (outflow goes with the root of the depth, whose mean over the filling by depth is 2/3). That
// is a guess from steady flow: other beds and tanks share the line otherwise while the bed fills. So the sizes are chosen anew with q' asked, the
// routine is followed again, and so on for a few rounds. What remains too late is told, never hidden.

#include "solver/choose/sizing_in_time.h"

#include <algorithm>
#include <cmath>

#include "solver/settle/fed.h"

namespace ebb::choose {

namespace {

std::size_t at(std::int32_t index) { return static_cast<std::size_t>(index); }

constexpr double kMeanOfHoles = 2.0 / 3.0;
constexpr double kMoreWhenNever = 1.25;  ///< asked of a bed that never reached its lip
constexpr double kFlow_m3_s = 1e-9;

double holes_m3_s(const layout::Layout& layout, const settle::Answer& answer, std::int32_t vessel) {
    double sum = 0.0;
    for (std::size_t s = 0; s < layout.standpipes.size(); ++s)
        if (layout.standpipes[s].in.kind == layout::Kind::vessel && layout.standpipes[s].in.index == vessel)
            sum += std::max(0.0, std::isfinite(answer.standpipes[s].through_holes_m3_s) ? answer.standpipes[s].through_holes_m3_s : 0.0);
    return sum;
}

/// Inflow that would do; NaN where the state does not say what it gets now.
double inflow_needed_m3_s(const layout::Layout& layout, const settle::Answer& answer, const BedInTime& bed) {
    const double now = answer.vessels[at(bed.vessel)].inflow_m3_s;
    if (!settle::solved(answer.state) || !(now > kFlow_m3_s)) return layout::kNotSaid;
    const double out = std::min(kMeanOfHoles * holes_m3_s(layout, answer, bed.vessel), now);
    if (!std::isfinite(bed.got_s) || !(out < now)) return kMoreWhenNever * now;
    return out + (now - out) * bed.got_s / bed.wanted_s;
}

void raise(std::int32_t arrangement, std::int32_t vessel, double inflow_m3_s, std::vector<FeedAsked>& feeds) {
    const auto same = [&](const FeedAsked& feed) { return feed.arrangement == arrangement && feed.vessel == vessel; };
    const auto place = std::find_if(feeds.begin(), feeds.end(), same);
    if (place == feeds.end())
        feeds.push_back({arrangement, vessel, inflow_m3_s});
    else
        place->inflow_m3_s = std::max(place->inflow_m3_s, inflow_m3_s);
}

/// What water leaves into a drain with; NaN for other beginnings.
double bore_above_m(const layout::Layout& layout, const layout::Ref& from) {
    if (from.kind == layout::Kind::standpipe) return layout.standpipes[at(from.index)].bore_m;
    if (from.kind == layout::Kind::siphon) return layout.siphons[at(from.index)].bore_m;
    return layout::kNotSaid;
}

}  // namespace

std::vector<std::int32_t> routines_that_tell(const layout::Layout& layout) {
    return routines_that_tell(layout, std::vector<std::uint8_t>(layout.vessels.size(), 1));
}

std::vector<std::int32_t> beds_not_seen(const layout::Layout& layout, const std::vector<BedInTime>& kept) {
    std::vector<std::int32_t> beds;
    for (std::size_t v = 0; v < layout.vessels.size(); ++v) {
        const auto bed = static_cast<std::int32_t>(v);
        const bool seen = std::any_of(kept.begin(), kept.end(), [bed](const BedInTime& one) { return one.vessel == bed; });
        if (has_time_to_keep(layout.vessels[v]) && !seen) beds.push_back(bed);
    }
    return beds;
}

std::vector<BedInTime> beds_in_time(const layout::Layout& layout, const std::vector<std::int32_t>& routines, const std::stop_token& stop) {
    return beds_in_time(layout, std::vector<std::uint8_t>(layout.vessels.size(), 1), routines, stop);
}

bool ask_more(const SizingProblem& problem, const std::vector<settle::Answer>& solved, const std::vector<BedInTime>& kept,
              std::vector<FeedAsked>& feeds) {
    const layout::Layout& layout = *problem.layout;
    bool any = false;
    for (const BedInTime& bed : kept) {
        if (bed.met || !bed.fills) continue;
        std::vector<std::size_t> feeding;
        for (std::size_t a = 0; a < problem.arrangements.size(); ++a) {
            if (settle::fed_vessels(layout, layout::conditions_of(layout, problem.arrangements[a]))[at(bed.vessel)] == 0) continue;
            const bool its_own = problem.arrangements[a] == layout.routines[at(bed.routine)].arrangement;
            if (its_own) feeding.clear();
            feeding.push_back(a);
            if (its_own) break;
        }
        for (const std::size_t a : feeding) {
            const double needed = inflow_needed_m3_s(layout, solved[a], bed);
            if (!layout::said(needed)) continue;
            raise(problem.arrangements[a], bed.vessel, needed, feeds);
            any = true;
        }
    }
    return any;
}

std::vector<NarrowDrain> narrow_drains(const SizingProblem& problem, const layout::Layout& sized) {
    constexpr double kSame_m = 1e-6;
    std::vector<NarrowDrain> narrow;
    const auto look = [&](std::int32_t drain, const std::string& after, double bore_m) {
        const double own = sized.pipes[at(drain)].bore_m;
        if (own < bore_m - kSame_m) narrow.push_back({drain, after, own, bore_m});
    };
    for (const Choice& choice : problem.choices)
        for (const std::int32_t p : choice.pipes) {
            const layout::Pipe& pipe = sized.pipes[at(p)];
            if (!pipe.gravity) continue;
            look(p, pipe.from.id, bore_above_m(sized, pipe.from.ref));
            if (pipe.from.ref.kind != layout::Kind::tee) continue;
            for (const layout::Pipe& above : sized.pipes)
                if (above.gravity && above.to.ref == pipe.from.ref) look(p, above.id, above.bore_m);
        }
    return narrow;
}

}  // namespace ebb::choose
