// Doubts: a valid layout that may not be what was meant. Each is a question; none stops the solve.

#include <utility>

#include "solver/layout/doubting.h"
#include "solver/layout/validate.h"

namespace ebb::layout {

void Doubts::add(Finding finding, const Place& place, const Place& other) {
    Problem problem;
    problem.severity = Severity::doubt;
    problem.code = std::move(finding.code);
    problem.about = std::move(finding.about);
    problem.says = std::move(finding.says);
    problem.advice = std::move(finding.advice);
    problem.attribute = std::move(finding.attribute);
    problem.place = place;
    problem.other_place = other;
    found.push_back(std::move(problem));
}

double height_of(const Vessel& vessel) { return vessel.rim_m - vessel.floor_m; }

std::vector<Problem> doubts(const Layout& layout) {
    Doubts doubts(layout);
    doubt_heights(doubts);
    doubt_ways_out(doubts);
    doubt_drains(doubts);
    doubt_sumps(doubts);
    doubt_shut_pumps(doubts);
    doubt_lifts(doubts);
    doubt_pump_units(doubts);
    doubt_units(doubts);
    doubt_routines(doubts);
    doubt_economy(doubts);
    return std::move(doubts.found);
}

}  // namespace ebb::layout
