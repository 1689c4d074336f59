#pragma once
// The networks of the comparison, as Ebbwright compiles them and, link by link the same, as plain numbers.
//
//   farm        examples/farm.xml in its first arrangement, at the levels it settles at
//   farm-of-20  tests/farm_of_beds.h with 20 beds, the same way
//   mains-N     streets of about N pipes, tees in rows and columns, joined across at every fourth column (5 pipes to 4 tees, as towns have it);
//               every tee takes a little, a tank of fixed level stands in each block of 12 x 12 tees
//   streets-N   the grid of tests/bench/large_layouts.h, every tee joined to its four neighbours: the hardest pattern for elimination
//
// Weirs, siphons, float valves, drains that run part full and what is shut have no smooth equation F(x) = 0. Of the farms the pressurised part is
// compared: pumps, filters, mains, feeds with their valves, nozzles, the pipe between the sumps; each feed that falls into a vessel over its water
// ends at the head of its port. Ebbwright's own solver gets this reduced network too, not the whole farm.

#include <string>
#include <vector>

#include "plain_network.h"
#include "solver/layout/layout.h"
#include "solver/network/network.h"

namespace peers {

struct Case {
    ebb::network::Network network;
    ebb::network::Settings settings;
    std::vector<double> level_m;
    PlainNetwork plain;  ///< elements in the order of network.links, nodes in that of the plain nodes
};

/// Throws when there is no such network, or when it holds what has no plain equation.
Case made(const std::string& name);

}  // namespace peers
