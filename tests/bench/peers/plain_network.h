#pragma once
// A network as plain numbers: what is handed to every peer. It knows nothing of Ebbwright; it is what somebody would write down who scripts the
// job with a general solver.
//
//     unknown   heads 0 .. n-1, and the flow of every element, positive from -> to
//     fixed     heads n .. n+m-1: water levels, or the height of the port where water falls in above one
//     element   h(Q) = H_from - H_to, all smooth and rising in Q:
//       pipe    Darcy-Weisbach: 64/Re to Re 2000, Colebrook-White from 4000, between the cubic of f Re^2 with value and slope of both;
//               and local losses k Q|Q| (one k for each direction)
//       square  filters and nozzles: k Q sqrt(Q^2 + 1e-8/k), a square law that keeps a slope at rest
//       pump    minus the monotone cubic (Fritsch and Butland) through the points of its curve, straight beyond
//     balance   what flows in - what flows out = what is taken, at every node of unknown head
//
// All SI. As a text file: a first line "nodes links fixed viscosity_m2_s", the fixed heads, what is taken at each node, and a line for each element.

#include <fstream>
#include <limits>
#include <stdexcept>
#include <string>
#include <vector>

namespace peers {

struct Element {
    std::string kind;  ///< pipe, square, pump
    int from = 0, to = 0;
    double start_flow_m3_s = 0.0;  ///< where every solver starts
    double length_m = 0.0, bore_m = 0.0, roughness_m = 0.0, k_forward = 0.0, k_reverse = 0.0;
    double coefficient = 0.0;                                     ///< of a square law
    std::vector<double> curve_flow_m3_s = {}, curve_head_m = {};  ///< of a pump
};

struct PlainNetwork {
    int nodes = 0;
    double viscosity_m2_s = 1e-6;
    std::vector<double> fixed_head_m, taken_m3_s;
    std::vector<Element> elements;
};

inline void write(const PlainNetwork& network, const std::string& path) {
    std::ofstream to(path);
    to.precision(17);
    to << network.nodes << ' ' << network.elements.size() << ' ' << network.fixed_head_m.size() << ' ' << network.viscosity_m2_s << '\n';
    for (const double head : network.fixed_head_m) to << head << ' ';
    to << '\n';
    for (const double taken : network.taken_m3_s) to << taken << ' ';
    to << '\n';
    for (const Element& e : network.elements) {
        to << e.kind << ' ' << e.from << ' ' << e.to << ' ' << e.start_flow_m3_s;
        if (e.kind == "pipe") to << ' ' << e.length_m << ' ' << e.bore_m << ' ' << e.roughness_m << ' ' << e.k_forward << ' ' << e.k_reverse;
        if (e.kind == "square") to << ' ' << e.coefficient;
        if (e.kind == "pump") {
            to << ' ' << e.curve_flow_m3_s.size();
            for (const double flow : e.curve_flow_m3_s) to << ' ' << flow;
            for (const double head : e.curve_head_m) to << ' ' << head;
        }
        to << '\n';
    }
    if (!to) throw std::runtime_error("cannot write " + path);
}

inline PlainNetwork read(const std::string& path) {
    std::ifstream in(path);
    PlainNetwork network;
    std::size_t links = 0, fixed = 0;
    in >> network.nodes >> links >> fixed >> network.viscosity_m2_s;
    network.fixed_head_m.resize(fixed);
    network.taken_m3_s.resize(static_cast<std::size_t>(network.nodes));
    network.elements.resize(links);
    for (double& head : network.fixed_head_m) in >> head;
    for (double& taken : network.taken_m3_s) in >> taken;
    for (Element& e : network.elements) {
        in >> e.kind >> e.from >> e.to >> e.start_flow_m3_s;
        if (e.kind == "pipe") in >> e.length_m >> e.bore_m >> e.roughness_m >> e.k_forward >> e.k_reverse;
        if (e.kind == "square") in >> e.coefficient;
        if (e.kind != "pump") continue;
        std::size_t points = 0;
        in >> points;
        e.curve_flow_m3_s.resize(points);
        e.curve_head_m.resize(points);
        for (double& flow : e.curve_flow_m3_s) in >> flow;
        for (double& head : e.curve_head_m) in >> head;
    }
    if (!in) throw std::runtime_error("cannot read " + path);
    return network;
}

}  // namespace peers
