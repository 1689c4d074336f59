#pragma once
// Layout files of any size, as text: what the benchmarks of large networks read and what the tests of growth hold against each other.
//
//   trees   one pond, a main that branches to the last tap: nothing runs in a ring. Bores follow the water each pipe carries, at 0.8 m/s.
//   grids   streets both ways, every tee joined to its four neighbours and taking a little; one pond to a block of 32 x 32 tees. The hardest
//           pattern for elimination that a network in the plane has.
//   farms   modules of ten vessels (eight beds, two tanks) each with its sump, pump, filter, ring of feeds, standpipes and drains home; the rings of
//           neighbours joined by a site main, their sumps by balance pipes. 46 pipes and drains a module: the size of one real farm.
//
// All numbers are invented; velocities are those people build for (0.3 to 1.5 m/s). The same call gives the same text, byte for byte.

#include <algorithm>
#include <array>
#include <charconv>
#include <cmath>
#include <cstdint>
#include <string>
#include <string_view>
#include <vector>

namespace ebb::bench {

enum class Family : std::uint8_t { trees, grids, farms };
inline constexpr std::array kFamilies = {Family::trees, Family::grids, Family::farms};
inline const char* name_of(Family family) { return std::array{"trees", "grids", "farms"}[static_cast<std::size_t>(family)]; }

class LayoutWriter {
public:
    explicit LayoutWriter(std::size_t pipes) { text_.reserve(pipes * 200 + 4096); }

    template <class... Parts>
    void line(const Parts&... parts) {
        (add(parts), ...);
        text_ += '\n';
    }

    /// The same numbers on every machine.
    double vary(double low, double high) {
        state_ = state_ * 6364136223846793005ULL + 1442695040888963407ULL;
        return low + (high - low) * static_cast<double>(state_ >> 40U) / 16777216.0;
    }

    std::string take() { return std::move(text_); }

private:
    void add(std::string_view part) { text_ += part; }
    void add(const char* part) { text_ += part; }
    void add(int number) { text_ += std::to_string(number); }
    void add(std::size_t number) { text_ += std::to_string(number); }
    void add(double number) {
        std::array<char, 32> digits{};
        text_.append(digits.data(), std::to_chars(digits.data(), digits.data() + digits.size(), number, std::chars_format::general, 6).ptr);
    }
    std::string text_;
    std::uint64_t state_ = 12345;
};

inline double bore_mm(double flow_m3_s, double velocity_m_s) {
    return 1000.0 * std::max(0.02, std::sqrt(4.0 * flow_m3_s / (3.14159265358979 * velocity_m_s)));
}

/// Tee n hangs from a tee among those before it, no deeper than some multiple of log n.
inline std::string tree_layout(std::size_t pipes) {
    LayoutWriter to(pipes);
    std::vector<std::size_t> parent(pipes, 0);
    std::vector<int> below(pipes, 0);
    for (std::size_t n = 1; n < pipes; ++n) {
        parent[n] = static_cast<std::size_t>(static_cast<double>(n) * to.vary(0.3, 1.0));
        ++below[parent[n]];
    }
    constexpr double kTap_m3_s = 6e-6;
    std::vector<double> flow(pipes, 0.0);
    for (std::size_t n = pipes; n-- > 0;) {
        if (below[n] == 0) flow[n] = kTap_m3_s;
        if (n > 0) flow[parent[n]] += flow[n];
    }
    to.line("<layout name=\"a tree of mains\">");
    to.line("<pond id=\"HILL\" level=\"60 m\"/>");
    for (std::size_t n = 0; n < pipes; ++n) {
        if (below[n] == 0)
            to.line("<tee id=\"J", n, "\" elevation=\"0 m\" takes=\"0.36 l/min\"/>");
        else
            to.line("<tee id=\"J", n, "\" elevation=\"0 m\"/>");
    }
    to.line("<pipe id=\"p0\" from=\"HILL\" to=\"J0\" length=\"20 m\" bore=\"", bore_mm(flow[0], 0.8), " mm\"/>");
    for (std::size_t n = 1; n < pipes; ++n)
        to.line("<pipe id=\"p", n, "\" from=\"J", parent[n], "\" to=\"J", n, "\" length=\"", to.vary(2.0, 20.0), " m\" bore=\"",
                bore_mm(flow[n], to.vary(0.6, 1.0)), " mm\"/>");
    to.line("</layout>");
    return to.take();
}

inline std::string grid_layout(std::size_t pipes) {
    constexpr int kBlock = 32;
    LayoutWriter to(pipes);
    const int side = std::max(2, static_cast<int>(std::sqrt(static_cast<double>(pipes) / 2.0)));
    to.line("<layout name=\"streets both ways\">");
    std::size_t count = 0;
    // how far a tee stands from its pond decides what its pipes carry: what is taken beyond, shared among the pipes at that distance
    const auto middle = [&](int at) { return std::min(side - 1, at / kBlock * kBlock + std::min(kBlock, side) / 2); };
    const auto bore = [&](int row, int column) {
        const double away = std::abs(row - middle(row)) + std::abs(column - middle(column));
        const double beyond = std::max(8.0, 1024.0 - 2.0 * away * away);
        return bore_mm(2e-5 * beyond / (4.0 * (2.0 * away + 1.0)), to.vary(0.6, 1.0));
    };
    for (int row = 0; row < side; ++row)
        for (int column = 0; column < side; ++column) {
            to.line("<tee id=\"J", row, "-", column, "\" elevation=\"0 m\" takes=\"1.2 l/min\"/>");
            if (column > 0)
                to.line("<pipe id=\"p", count++, "\" from=\"J", row, "-", column - 1, "\" to=\"J", row, "-", column, "\" length=\"",
                        to.vary(5.0, 40.0), " m\" bore=\"", bore(row, column), " mm\"/>");
            if (row > 0)
                to.line("<pipe id=\"p", count++, "\" from=\"J", row - 1, "-", column, "\" to=\"J", row, "-", column, "\" length=\"",
                        to.vary(5.0, 40.0), " m\" bore=\"", bore(row, column), " mm\"/>");
            if (row == middle(row) && column == middle(column)) {
                to.line("<pond id=\"W", row, "-", column, "\" level=\"", to.vary(30.0, 32.0), " m\"/>");
                to.line("<pipe id=\"p", count++, "\" from=\"W", row, "-", column, "\" to=\"J", row, "-", column,
                        "\" length=\"10 m\" bore=\"180 mm\"/>");
            }
        }
    to.line("</layout>");
    return to.take();
}

inline constexpr std::size_t kPipesPerModule = 46;

inline void farm_module(LayoutWriter& to, int m, bool last) {
    constexpr int kVessels = 10, kTanks = 2;
    to.line("<sump id=\"S", m, "\" floor=\"-0.9 m\" rim=\"0.1 m\" length=\"2.4 m\" width=\"1.6 m\" start-depth=\"0.7 m\"/>");
    to.line("<pump id=\"P", m, "\" in=\"S", m, "\" intake-height=\"0.08 m\" model=\"steady\" check-valve=\"yes\"/>");
    to.line("<filter id=\"F", m, "\"><loss state=\"clean\" flow=\"6 m3/h\" head=\"0.4 m\"/></filter>");
    to.line("<pipe id=\"rise", m, "\" from=\"P", m, "\" to=\"F", m, "\" length=\"", to.vary(2.0, 4.0),
            " m\" bore=\"57 mm\"><fitting loss=\"1.8\"/></pipe>");
    to.line("<pipe id=\"filtered", m, "\" from=\"F", m, "\" to=\"R", m, "-0\" length=\"1.5 m\" bore=\"57 mm\"/>");
    for (int v = 0; v < kVessels; ++v) {
        const bool tank = v < kTanks;
        const double along = to.vary(1.5, 3.0);
        to.line("<tee id=\"R", m, "-", v, "\" elevation=\"0.4 m\"/>");
        to.line("<pipe id=\"ring", m, "-", v, "\" from=\"R", m, "-", v, "\" to=\"R", m, "-", (v + 1) % kVessels, "\" length=\"", along,
                " m\" bore=\"45.2 mm\"/>");
        if (tank)
            to.line("<tank id=\"V", m, "-", v, "\" floor=\"0.3 m\" rim=\"1.4 m\" diameter=\"1.5 m\" start-depth=\"0.97 m\"/>");
        else
            to.line("<bed id=\"V", m, "-", v,
                    "\" floor=\"0.6 m\" rim=\"0.95 m\" length=\"2 m\" width=\"1 m\" void-fraction=\"0.42\" media-depth=\"0.31 m\" "
                    "start-depth=\"0.265 m\"/>");
        to.line("<pipe id=\"feed", m, "-", v, "\" from=\"R", m, "-", v, "\" to=\"V", m, "-", v, "\" to-height=\"", tank ? "1.04" : "0.33",
                " m\" length=\"", to.vary(1.8, 3.0), " m\" bore=\"16 mm\"><fitting loss=\"", to.vary(8.0, 14.0), "\"/><valve id=\"X", m, "-", v,
                "\" kind=\"ball\"/></pipe>");
        if (tank)
            to.line("<standpipe id=\"O", m, "-", v, "\" in=\"V", m, "-", v, "\" bore=\"68 mm\"><insert name=\"only\" lip=\"0.96 m\"/></standpipe>");
        else
            to.line("<standpipe id=\"O", m, "-", v, "\" in=\"V", m, "-", v,
                    "\" bore=\"45 mm\"><insert name=\"tall\" lip=\"0.26 m\"/><drain-hole height=\"0 m\" diameter=\"10 mm\"/></standpipe>");
        to.line("<tee id=\"D", m, "-", v, "\" elevation=\"", 0.14 + 0.015 * v, " m\" vented=\"yes\"/>");
        to.line("<drain id=\"drain", m, "-", v, "\" from=\"O", m, "-", v, "\" to=\"D", m, "-", v, "\" length=\"1.2 m\" bore=\"70 mm\"/>");
        if (v > 0)
            to.line("<drain id=\"home", m, "-", v, "\" from=\"D", m, "-", v, "\" to=\"D", m, "-", v - 1, "\" length=\"1 m\" bore=\"100 mm\"/>");
    }
    to.line("<drain id=\"home", m, "-0\" from=\"D", m, "-0\" to=\"S", m, "\" to-height=\"0.95 m\" length=\"2 m\" bore=\"100 mm\"/>");
    if (last) return;
    to.line("<pipe id=\"site", m, "\" from=\"R", m, "-5\" to=\"R", m + 1, "-0\" length=\"", to.vary(8.0, 15.0), " m\" bore=\"45.2 mm\"/>");
    to.line("<pipe id=\"balance", m, "\" from=\"S", m, "\" to=\"S", m + 1, "\" length=\"", to.vary(8.0, 15.0), " m\" bore=\"100 mm\"/>");
}

/// `joined` modules share one site main and one level of their sumps; the next ones are a farm of their own.
inline std::string farm_layout(std::size_t pipes, int joined, bool at_start_levels) {
    LayoutWriter to(pipes * 2);
    const int modules = std::max(1, static_cast<int>(pipes / kPipesPerModule));
    to.line("<layout name=\"farms side by side\">");
    to.line("<pump-model name=\"steady\"><point flow=\"0 m3/h\" head=\"3.4 m\"/><point flow=\"6 m3/h\" head=\"2.4 m\"/>"
            "<point flow=\"10 m3/h\" head=\"0.5 m\"/></pump-model>");
    for (int m = 0; m < modules; ++m) farm_module(to, m, m + 1 == modules || (m + 1) % joined == 0);
    to.line(at_start_levels ? "<arrangement name=\"as drawn\" levels=\"start\"/>" : "<arrangement name=\"settled\"/>");
    to.line("</layout>");
    return to.take();
}

inline constexpr int kModulesJoined = 16;

inline std::string large_layout(Family family, std::size_t pipes, bool at_start_levels = true) {
    switch (family) {
        case Family::trees: return tree_layout(pipes);
        case Family::grids: return grid_layout(pipes);
        case Family::farms: break;
    }
    return farm_layout(pipes, kModulesJoined, at_start_levels);
}

}  // namespace ebb::bench
