// docs/one-pipe.md follows one pipe of examples/first.xml through the rooms with real numbers. The blocks of that page are made here from
// the objects themselves and compared with the page, so that it cannot grow old. (EBB_REWRITE_PAGES=1 writes them into the page.)
//
// What the page says of this pipe is also checked against equations that are not the project's code: the Colebrook-White equation as
// published (C. F. Colebrook 1939, "Turbulent flow in pipes", J. Inst. Civ. Eng. 11), solved here by halving; and the balance of heads.
#include <doctest/doctest.h>
#include <fmt/core.h>

#include <algorithm>
#include <cmath>
#include <cstdio>
#include <cstdlib>
#include <fstream>
#include <memory>
#include <numbers>
#include <sstream>
#include <string>
#include <vector>

#include "netfiles/reader.h"
#include "solver/network/newton.h"
#include "solver/physics/constants.h"
#include "solver/settle/farm.h"
#include "tests/near.h"

using namespace ebb;

namespace {

const std::string kRoot = EBB_SOURCE_DIR;

/// The pipe, wherever it has got to.
struct Walk {
    netfiles::ReadResult read = netfiles::read_layout(kRoot + "/examples/first.xml");
    std::size_t pipe = 0, valve = 0;
    settle::Answer answer;
    network::Network network;
    network::Settings settings;
    network::Outcome outcome;
    network::Point point;
    std::size_t link = 0;
    network::Linear linear;

    const layout::Pipe& drawn() const { return read.layout.pipes[pipe]; }
    const network::Link& compiled() const { return network.links[link]; }
    const physics::DarcyPipe& law() const { return network.darcy[static_cast<std::size_t>(compiled().law_index)]; }
    double flow_m3_s() const { return point.flow_m3_s[link]; }
    double reynolds() const { return law().reynolds_per_flow * flow_m3_s(); }
    double head_at(std::int32_t node) const { return point.head_m[static_cast<std::size_t>(node)]; }
};

Walk walk() {
    Walk it;
    REQUIRE(it.read.good());
    const auto& pipes = it.read.layout.pipes;
    it.pipe = static_cast<std::size_t>(std::ranges::find(pipes, "feed-T1", &layout::Pipe::id) - pipes.begin());
    REQUIRE(it.pipe < pipes.size());
    it.valve = static_cast<std::size_t>(it.drawn().valves.at(0));
    settle::Farm farm(it.read.layout);
    it.answer = farm.solve(0);
    REQUIRE(settle::solved(it.answer.state));

    // The last network solve of that answer, made again: the heads and flows at the levels where it settled.
    it.network = network::compile(it.read.layout);
    it.settings = network::settings_for(it.network, it.read.layout, layout::conditions_of(it.read.layout, 0), {});
    network::Solver solver(it.network);
    std::vector<double> levels_m;
    for (const auto& vessel : it.answer.vessels) levels_m.push_back(vessel.level_m);
    it.point = solver.cold_point(levels_m);
    it.outcome = solver.solve(it.settings, {}, {}, false, it.point);
    REQUIRE(it.outcome.converged);
    it.link = static_cast<std::size_t>(it.network.pipe_link[it.pipe]);
    it.linear = network::linearise(it.network, it.settings, it.point, static_cast<std::int32_t>(it.link));
    return it;
}

std::string line_of_program(const std::string& id) {
    const std::string command = std::string("'") + EBB_PROGRAM + "' flows '" + kRoot + "/examples/first.xml' --arrangement both";
    const std::unique_ptr<FILE, int (*)(FILE*)> pipe(popen(command.c_str(), "r"), pclose);
    REQUIRE(pipe != nullptr);
    char line[400];
    std::string titles;
    while (std::fgets(line, sizeof line, pipe.get()) != nullptr) {
        const std::string text = line;
        if (text.find("  pipe ") == 0) titles = text;
        if (!titles.empty() && text.find("  " + id + " ") == 0) return titles + text;
    }
    return {};
}

std::string place(const Walk& it) { return fmt::format("line {}, column {}", it.drawn().place.line, it.drawn().place.column); }

/// The blocks of the page, in its order.
std::vector<std::string> blocks(const Walk& it) {
    const layout::Pipe& pipe = it.drawn();
    const network::Link& link = it.compiled();
    const network::LinkSetting& setting = it.settings.links[it.link];
    const double flow = it.flow_m3_s();
    const physics::ValueSlope friction = physics::darcy_loss(it.law(), flow);
    const auto head = [&](std::int32_t node) { return it.head_at(node); };
    std::vector<std::string> made;
    made.push_back(fmt::format(
        "layout::Pipe  id {}, {} of first.xml\n  from {}, to {} at height_m {:.4g}\n  length_m {:.4g}, bore_m {:.4g}, roughness_m {:.4g}\n"
        "  fittings {} x{}, valve {} with loss {:.4g} fully open\n",
        pipe.id, place(it), pipe.from.id, pipe.to.id, pipe.to.height_m, pipe.length_m, pipe.bore_m, pipe.roughness_m, pipe.fittings.at(0).kind,
        pipe.fittings.at(0).count, it.read.layout.valves[it.valve].id, it.read.layout.valves[it.valve].loss));
    made.push_back(fmt::format("from.ref  tee {}\nto.ref    vessel {}\n", pipe.from.ref.index, pipe.to.ref.index));
    made.push_back(
        fmt::format("link {} from node {} to node {}, law darcy number {}\nport at its end: elevation_m {:.4g}\nk_forward {:.6g} m per (m3/s)2\n",
                    it.link, link.from, link.to, link.law_index, link.at_to.elevation_m, setting.k_forward));
    made.push_back(fmt::format(
        "flow_m3_s         {:.6e}\nReynolds number   {:.0f}\nfriction factor   {:.6f}\nfriction          {:.6f} m, slope {:.2f} m per m3/s\n"
        "local losses      {:.6f} m, slope {:.2f} m per m3/s\n",
        flow, it.reynolds(), physics::darcy_friction_factor(it.law(), flow), friction.value, friction.slope, setting.k_forward * flow * flow,
        2.0 * setting.k_forward * flow));
    made.push_back(fmt::format("q {:.6e} m3/s   a {:.6e}   b {:.6e} m2/s\n", it.linear.q, it.linear.a, it.linear.b));
    made.push_back(fmt::format("Newton steps from a cold start: {}\n", it.outcome.steps));
    made.push_back(fmt::format("head at {}        {:.6f} m\nwater in {}       {:.6f} m\nport of the pipe  {:.6f} m\nloss_m            {:.6f}\n",
                               pipe.from.id, head(link.from), pipe.to.id, head(link.to), link.at_to.elevation_m, it.answer.pipes[it.pipe].loss_m));
    made.push_back(line_of_program(pipe.id));
    return made;
}

struct Page {
    std::vector<std::string> prose, blocks;  ///< prose, block, prose, block, ..., prose
};

Page read_page(const std::string& path) {
    Page page;
    page.prose.emplace_back();
    std::ifstream file(path);
    bool inside = false;
    for (std::string line; std::getline(file, line);) {
        if (line.rfind("```", 0) == 0) {
            (inside ? page.prose : page.blocks).emplace_back();
            inside = !inside;
            continue;
        }
        (inside ? page.blocks : page.prose).back() += line + "\n";
    }
    return page;
}

}  // namespace

TEST_CASE("the page on one pipe shows what each room makes of it") {
    const std::vector<std::string> made = blocks(walk());
    const std::string path = kRoot + "/docs/one-pipe.md";
    const Page page = read_page(path);
    REQUIRE(page.prose.size() == made.size() + 1);
    if (std::getenv("EBB_REWRITE_PAGES") != nullptr) {
        std::ofstream file(path);
        for (std::size_t i = 0; i < made.size(); ++i) file << page.prose[i] << "```\n" << made[i] << "```\n";
        file << page.prose.back();
        return;
    }
    REQUIRE(page.blocks.size() == made.size());
    for (std::size_t i = 0; i < made.size(); ++i) CHECK(page.blocks[i] == made[i]);
}

TEST_CASE("the loss of that pipe is what the published equations make of its sizes and its flow") {
    const Walk it = walk();
    const layout::Pipe& pipe = it.drawn();
    const double area_m2 = std::numbers::pi / 4.0 * pipe.bore_m * pipe.bore_m;
    const double velocity_m_s = it.flow_m3_s() / area_m2;
    const double reynolds = velocity_m_s * pipe.bore_m / it.network.water.kinematic_viscosity_m2_s;
    REQUIRE(reynolds > 4000.0);
    double low = 1.0, high = 20.0;  // of 1/sqrt f
    for (int i = 0; i < 100; ++i) {
        const double middle = 0.5 * (low + high);
        const double right = -2.0 * std::log10(pipe.roughness_m / (3.7 * pipe.bore_m) + 2.51 * middle / reynolds);
        (right > middle ? low : high) = middle;
    }
    const double factor = 1.0 / (low * low);
    const double velocity_head_m = velocity_m_s * velocity_m_s / (2.0 * 9.80665);
    const double friction_m = factor * pipe.length_m / pipe.bore_m * velocity_head_m;
    const double local_m = it.settings.links[it.link].k_forward * it.flow_m3_s() * it.flow_m3_s();
    const double drop_m = it.head_at(it.compiled().from) - std::max(it.head_at(it.compiled().to), it.compiled().at_to.elevation_m);
    CHECK(friction_m + local_m == ebb::test::near(drop_m).epsilon(1e-8));
    CHECK(it.answer.pipes[it.pipe].loss_m == ebb::test::near(drop_m).epsilon(1e-7));
    CHECK(it.answer.pipes[it.pipe].flow_m3_s == ebb::test::near(it.flow_m3_s()).epsilon(1e-7));
    // Newton's line at the answer: dQ by dH is one over the slope of the loss.
    const double step_m3_s = 1e-7;
    const auto loss = [&](double flow) { return physics::darcy_loss(it.law(), flow).value + it.settings.links[it.link].k_forward * flow * flow; };
    const double slope = (loss(it.flow_m3_s() + step_m3_s) - loss(it.flow_m3_s() - step_m3_s)) / (2.0 * step_m3_s);
    CHECK(it.linear.a == ebb::test::near(1.0 / slope).epsilon(1e-5));
}
