#pragma once
// Least-cost sizing problems of the literature, and designs published for them.
//
// Two loops: E. Alperovits and U. Shamir, Design of optimal water distribution systems, Water Resources Research 13(6), 1977, 885-900; the design of
// 419,000: D. A. Savic and G. A. Walters, Genetic algorithms for least-cost design of water distribution networks, Journal of Water Resources
// Planning and Management 123(2), 1997, 67-77. Hanoi trunk mains: O. Fujiwara and D. B. Khang, A two-phase decomposition method for optimal design
// of looped water distribution networks, Water Resources Research 26(4), 1990, 539-549. Data and designs from memory of the papers; the costs of the
// published designs reproduce the published totals to the unit, and the demands of Hanoi their published sum.

#include <initializer_list>
#include <string>
#include <vector>

#include "solver/choose/sizing.h"
#include "solver/layout/layout.h"
#include "solver/layout/validate.h"

namespace published {

inline constexpr double kInch_m = 0.0254, kPerHour = 1.0 / 3600.0;

struct Node {
    double ground_m, demand_m3_h;
};
struct Line {
    int from, to;
    double length_m;
};
struct Network {
    std::string name;
    double source_head_m;
    double least_m;           ///< above the ground of every node
    std::vector<Node> nodes;  ///< node 1 is the source, these are 2, 3, ...
    std::vector<Line> lines;
    std::vector<double> bore_in, price;
};

inline Network two_loops() {
    return {"two loops",
            210.0,
            30.0,
            {{150, 100}, {160, 100}, {155, 120}, {150, 270}, {165, 330}, {160, 200}},
            {{1, 2, 1000}, {2, 3, 1000}, {2, 4, 1000}, {4, 5, 1000}, {4, 6, 1000}, {6, 7, 1000}, {3, 5, 1000}, {7, 5, 1000}},
            {1, 2, 3, 4, 6, 8, 10, 12, 14, 16, 18, 20, 22, 24},
            {2, 5, 8, 11, 16, 23, 32, 50, 60, 90, 130, 170, 300, 550}};
}

inline Network hanoi() {
    Network net{"Hanoi trunk mains", 100.0, 30.0, {}, {}, {12, 16, 20, 24, 30, 40}, {45.726, 70.400, 98.378, 129.333, 180.748, 278.280}};
    for (const double demand : {890,  850, 130,  725, 1005, 1350, 550, 525, 525, 500, 560, 940, 615, 280, 310, 865,
                                1345, 60,  1275, 930, 485,  1045, 820, 170, 900, 370, 290, 360, 360, 105, 805})
        net.nodes.push_back({0.0, demand});
    net.lines = {{1, 2, 100},    {2, 3, 1350},   {3, 4, 900},    {4, 5, 1150},   {5, 6, 1450},   {6, 7, 450},   {7, 8, 850},
                 {8, 9, 850},    {9, 10, 800},   {10, 11, 950},  {11, 12, 1200}, {12, 13, 3500}, {10, 14, 800}, {14, 15, 500},
                 {15, 16, 550},  {16, 17, 2730}, {17, 18, 1750}, {18, 19, 800},  {19, 3, 400},   {3, 20, 2200}, {20, 21, 1500},
                 {21, 22, 500},  {20, 23, 2650}, {23, 24, 1230}, {24, 25, 1300}, {25, 26, 850},  {26, 27, 300}, {27, 16, 750},
                 {23, 28, 1500}, {28, 29, 2000}, {29, 30, 1600}, {30, 31, 150},  {31, 32, 860},  {32, 25, 950}};
    return net;
}

/// Hazen-Williams constants of the runs in the literature.
struct Constants {
    double factor, flow_power = 1.852, bore_power = 4.871;
};

/// The network as a validated layout in which every pipe is to be chosen: a pond, tees that take their demand, no local losses, no limit of velocity.
inline ebb::layout::Layout layout_of(const Network& net, const Constants& constants) {
    ebb::layout::Layout layout;
    layout.name = net.name;
    layout.friction = ebb::layout::FrictionLaw::hazen_williams;
    layout.hazen = {constants.factor, constants.flow_power, constants.bore_power};
    layout.limits.greatest_velocity_m_s = 1e9;
    layout.ponds.push_back({"1", {}, net.source_head_m});
    for (std::size_t n = 0; n < net.nodes.size(); ++n) {
        ebb::layout::Tee tee;
        tee.id = std::to_string(n + 2);
        tee.elevation_m = net.nodes[n].ground_m;
        tee.takes_m3_s = net.nodes[n].demand_m3_h * kPerHour;
        tee.least_pressure_m = net.least_m;
        layout.tees.push_back(tee);
    }
    ebb::layout::SoldSeries series;
    series.name = "sold";
    for (std::size_t s = 0; s < net.bore_in.size(); ++s)
        series.sizes.push_back({std::to_string(static_cast<int>(net.bore_in[s])) + " in", net.bore_in[s] * kInch_m, 0.0, net.price[s]});
    layout.sold_series.push_back(series);
    for (std::size_t p = 0; p < net.lines.size(); ++p) {
        ebb::layout::Pipe pipe;
        pipe.id = "p" + std::to_string(p + 1);
        pipe.from.id = std::to_string(net.lines[p].from);
        pipe.to.id = std::to_string(net.lines[p].to);
        pipe.length_m = net.lines[p].length_m;
        pipe.bore_m = series.sizes.back().bore_m;
        pipe.roughness_m = 1e-4;
        pipe.hazen_williams_c = 130.0;
        pipe.entry_loss = 0.0;
        pipe.choose = true;
        pipe.choose_group = pipe.id;
        pipe.sold_series = 0;
        layout.pipes.push_back(pipe);
    }
    return layout;
}

/// A published design, by bores in inches.
inline ebb::choose::Design design_of(const Network& net, std::initializer_list<int> bores_in) {
    ebb::choose::Design design;
    for (const int bore : bores_in)
        for (std::size_t s = 0; s < net.bore_in.size(); ++s)
            if (net.bore_in[s] == bore) design.push_back(static_cast<std::uint8_t>(s));
    return design;
}

inline ebb::choose::Design hanoi_6081(const Network& net) {
    return design_of(net, {40, 40, 40, 40, 40, 40, 40, 40, 40, 30, 24, 24, 20, 16, 12, 12, 16,
                           24, 20, 40, 20, 12, 40, 30, 30, 20, 12, 12, 16, 12, 12, 16, 16, 24});
}
inline ebb::choose::Design hanoi_6056(const Network& net) {
    ebb::choose::Design design = hanoi_6081(net);
    design[17] = 2;  // 20 in
    return design;
}
inline ebb::choose::Design two_loops_419(const Network& net) { return design_of(net, {18, 10, 16, 4, 16, 10, 10, 1}); }

}  // namespace published
