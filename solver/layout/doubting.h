#pragma once
// What the parts of doubts() share. Inside solver/layout only.

#include <string>
#include <string_view>
#include <vector>

#include "solver/layout/checks.h"
#include "solver/layout/layout.h"
#include "solver/layout/problems.h"

namespace ebb::layout {

/// Collects doubts about a valid layout.
class Doubts {
public:
    explicit Doubts(const Layout& wanted) : layout(wanted), joints(joints_of(wanted)) {}

    void add(Finding finding, const Place& place, const Place& other = {});

    const Layout& layout;
    const Joints joints;
    std::vector<Problem> found;
};

void doubt_heights(Doubts& doubts);
void doubt_ways_out(Doubts& doubts);
void doubt_drains(Doubts& doubts);
void doubt_sumps(Doubts& doubts);
void doubt_shut_pumps(Doubts& doubts);
void doubt_lifts(Doubts& doubts);
void doubt_pump_units(Doubts& doubts);
void doubt_units(Doubts& doubts);
void doubt_routines(Doubts& doubts);
void doubt_economy(Doubts& doubts);

/// Height of the rim above the floor.
double height_of(const Vessel& vessel);

/// Where pipes meet, as a graph: for each tee and filter the pipes that end there.
class PipeGraph {
public:
    explicit PipeGraph(const Layout& layout);
    const std::vector<std::int32_t>& at(const Ref& ref) const;

private:
    std::vector<std::vector<std::int32_t>> tees_, filters_, pumps_;
    std::vector<std::int32_t> nothing_;
};

/// One walk along the open pipes of an arrangement, from a pump's outlet (downstream) or its inlet (upstream).
struct Walk {
    bool reaches_water = false;             ///< open water, a nozzle or a float valve downstream; open water or a supply upstream
    std::vector<std::int32_t> shut_valves;  ///< valves that ended the walk, in order of their index
    double lowest_outlet_m = kNotSaid;      ///< of the outlets reached (downstream)
};

}  // namespace ebb::layout
