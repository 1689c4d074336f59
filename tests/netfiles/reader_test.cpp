// The reader as a whole: what it makes of good files, that order means nothing, where it says things are, and what it survives.
#include <doctest/doctest.h>
#include <sys/resource.h>
#include <unistd.h>

#include <algorithm>
#include <chrono>
#include <cmath>
#include <filesystem>
#include <fstream>
#include <numbers>
#include <string>
#include <vector>

#include "netfiles/reader.h"
#include "solver/physics/water.h"
#include "tests/near.h"

using namespace ebb;
using netfiles::read_layout;
using netfiles::read_layout_text;
using netfiles::ReadResult;

namespace {

/// A name in the folder for passing files that no other run of these tests uses at the same time.
std::filesystem::path passing(const std::string& name) {
    return std::filesystem::temp_directory_path() / ("ebbwright-" + std::to_string(::getpid()) + "-" + name);
}

const std::string kFiles = std::string(EBB_SOURCE_DIR) + "/tests/netfiles/";

ReadResult good(const std::string& name) {
    ReadResult result = read_layout(kFiles + "good/" + name);
    for (const layout::Problem& problem : result.problems) {
        FAIL_CHECK(netfiles::show(problem, result.files));
    }
    return result;
}

const layout::Assumption* assumption(const layout::Layout& layout, const std::string& what) {
    const auto found = std::ranges::find(layout.assumptions, what, &layout::Assumption::what);
    return found == layout.assumptions.end() ? nullptr : &*found;
}

std::string many_pipes(int count, const std::string& joint) {
    std::string text = "<layout><pond id=\"A\" level=\"2 m\"/><pond id=\"B\" level=\"0 m\"/>" + joint;
    for (int i = 0; i < count; ++i) {
        const std::string n = std::to_string(i);
        text += "<pipe id=\"p" + n + "\" from=\"A\" to=\"B\" length=\"10 m\" bore=\"30 mm\"><valve id=\"v" + n + "\" kind=\"ball\"/></pipe>" + joint;
    }
    return text + "</layout>";
}

/// Of the processor in this program: what else runs does not count, nor what the system takes to find memory.
double user_seconds() {
    rusage usage{};
    getrusage(RUSAGE_SELF, &usage);
    return static_cast<double>(usage.ru_utime.tv_sec) + 1e-6 * static_cast<double>(usage.ru_utime.tv_usec);
}

double seconds_to_read(const std::string& text, std::size_t pipes) {
    double best = 1e9;
    for (int round = 0; round < 3; ++round) {
        const double start = user_seconds();
        const ReadResult result = read_layout_text(text, "many.xml");
        best = std::min(best, user_seconds() - start);
        CHECK(result.good());
        CHECK(result.layout.pipes.size() == pipes);
    }
    return best;
}

}  // namespace

TEST_CASE("a built-in series given prices is sold in the priced sizes, by rising bore, and keeps its bores") {
    const ReadResult result = read_layout_text(
        R"(<layout><pond id="A" level="2 m"/><pond id="B" level="0 m"/>
  <prices series="pvc-pn16"><size name="63 mm" price-per-metre="5.20"/><size name="32mm" price-per-metre="1.75"/></prices>
  <pipe id="P" from="A" to="B" length="9 m" series="pvc-pn16" choose="yes"/>
  <pipe id="Q" from="A" to="B" length="9 m" size="32 mm" series="pvc-pn16"/>
  <prices series="pvc-pn16"><size name="40 mm" price-per-metre="0"/></prices></layout>)",
        "priced");
    REQUIRE(result.good());
    REQUIRE(result.layout.sold_series.size() == 1);
    const std::vector<layout::SoldSize>& sizes = result.layout.sold_series[0].sizes;
    REQUIRE(sizes.size() == 3);
    // outside diameter less two walls, EN ISO 1452-2: 32 x 2.4, 40 x 3.0, 63 x 4.7 mm
    CHECK(sizes[0].bore_m == ebb::test::near(0.032 - 2 * 0.0024));
    CHECK(sizes[1].bore_m == ebb::test::near(0.040 - 2 * 0.0030));
    CHECK(sizes[2].bore_m == ebb::test::near(0.063 - 2 * 0.0047));
    CHECK(sizes[0].price_per_metre == 1.75);
    CHECK(sizes[1].price_per_metre == 0.0);
    CHECK(sizes[2].price_per_metre == 5.20);
    CHECK(result.layout.pipes[0].size == "63 mm");
    CHECK(result.layout.pipes[1].price_per_metre == 1.75);
    REQUIRE(result.catalogue.series.size() == 1);
    for (const netfiles::PipeSeries& built_in : netfiles::built_in_catalogue().series) {
        CHECK(std::ranges::none_of(built_in.sizes, [](const netfiles::PipeSize& size) { return layout::said(size.price_per_metre); }));
    }
}

TEST_CASE("what is to be chosen, what it costs and the limits of design arrive in SI") {
    const layout::Layout farm = good("every-word.xml").layout;
    REQUIRE(farm.sold_series.size() == 1);
    const std::vector<layout::SoldSize>& sizes = farm.sold_series[0].sizes;
    REQUIRE(sizes.size() == 2);  // the third has no price
    CHECK(sizes[0].name == "20 mm");
    CHECK(sizes[0].price_per_metre == 0.8);
    CHECK(sizes[1].bore_m == ebb::test::near(0.0452));
    const auto pipe = [&](std::string_view id) { return *std::ranges::find(farm.pipes, id, &layout::Pipe::id); };
    CHECK(pipe("push").choose_group == "returns");
    CHECK(pipe("wash").choose_group == "returns");
    CHECK(pipe("wash").bore_m == 0.016);
    CHECK(pipe("feed-Z2").choose_group == "feed-Z2");
    CHECK(pipe("feed-Z2").size == "50 mm");  // not said: the largest that is sold, though the series has a larger one
    CHECK(pipe("feed-Z2").sold_series == 0);
    const layout::Economy& economy = farm.economy;
    CHECK(economy.currency == "EUR");
    CHECK(economy.price_per_kwh == 0.28);
    CHECK(economy.years == 10.0);
    CHECK(economy.interest == 0.03);
    REQUIRE(economy.hours.size() == 2);
    CHECK(economy.hours[0].hours == 6000.0);
    CHECK(economy.hours[1].arrangement == 1);
    REQUIRE(economy.candidates.size() == 2);
    CHECK(economy.candidates[0].model == 0);
    CHECK(economy.candidates[0].most == 2);
    CHECK(economy.candidates[0].pump == 0);
    CHECK(economy.candidates[1].model == 1);
    CHECK(economy.candidates[1].most == 1);
    CHECK(economy.candidates[1].pump == -1);
    CHECK(farm.limits.greatest_velocity_m_s == 1.5);
    CHECK(farm.limits.greatest_suction_velocity_m_s == ebb::test::near(4 * 0.3048));
    CHECK(farm.limits.least_velocity_m_s == 0.3);
    CHECK(farm.limits.greatest_drain_fill == 0.75);
    CHECK(farm.limits.least_drain_velocity_m_s == 0.6);
    CHECK(farm.hazen.factor == 10.67);
    const ReadResult other = read_layout_text(
        "<layout friction=\"hazen-williams\" hazen-factor=\"10.5088\" hazen-flow-power=\"1.85\" hazen-bore-power=\"4.87\"><pond id=\"P\" "
        "level=\"0 m\"/></layout>",
        "constants");
    REQUIRE(other.good());
    CHECK(other.layout.hazen.factor == 10.5088);
    CHECK(other.layout.hazen.flow_power == 1.85);
    CHECK(other.layout.hazen.bore_power == 4.87);
    CHECK_FALSE(layout::said(other.layout.economy.price_per_kwh));
    CHECK_FALSE(layout::said(other.layout.limits.greatest_velocity_m_s));
}

TEST_CASE("every element and attribute of the language arrives in SI") {
    const ReadResult result = good("every-word.xml");
    const layout::Layout& farm = result.layout;
    CHECK(farm.units == layout::UnitSystem::us);
    CHECK(farm.altitude_m == ebb::test::near(460 * 0.3048));
    CHECK(farm.water_temperature_c == ebb::test::near(200.0 / 9.0));
    REQUIRE(farm.vessels.size() == 7);
    CHECK(farm.vessels[0].rim_m == ebb::test::near(44 * 0.0254));
    CHECK(farm.vessels[0].volume.back().volume_m3 == ebb::test::near(std::numbers::pi / 4.0 * 1.524 * 1.524 * 44 * 0.0254));
    CHECK(farm.vessels[1].turnover_s == 5400.0);
    const layout::Vessel& bed = farm.vessels[3];
    CHECK(bed.kind == layout::VesselKind::bed);
    CHECK(bed.void_fraction == 0.42);
    CHECK(bed.drains_within_s == 750.0);
    // 0.30 m of media with 42 % of pores, 0.05 m of open water above
    CHECK(layout::volume_at_depth(bed, 0.30) == ebb::test::near(2.88 * 0.42 * 0.30));
    CHECK(bed.volume.back().volume_m3 == ebb::test::near(2.88 * (0.42 * 0.30 + 0.05)));
    CHECK(farm.vessels[6].volume.size() == 2);
    CHECK(farm.pumps[0].count == 2);
    CHECK(farm.pumps[0].wear == 0.05);
    CHECK(farm.pumps[0].stopped_head_m == 0.4);
    CHECK(farm.pump_models[0].has_power);
    CHECK(farm.pump_models[0].price == 80.0);
    CHECK(farm.pump_models[0].least_speed == 0.5);
    CHECK_FALSE(layout::said(farm.pump_models[1].least_speed));
    CHECK(farm.pump_models[1].from_label);
    CHECK(farm.pump_models[1].greatest_flow_m3_s == ebb::test::near(900 * 3.785411784e-3 / 3600.0));
    CHECK(farm.filters[0].clean.size() == 2);
    CHECK(farm.filters[0].clean[0].flow_m3_s < farm.filters[0].clean[1].flow_m3_s);  // sorted
    CHECK(farm.filters[0].clean[0].head_m == ebb::test::near(2000.0 / (physics::water_density_kg_m3(200.0 / 9.0) * 9.80665)));
    CHECK(farm.tees[0].loss == layout::TeeLoss::header);
    CHECK(farm.pipes[static_cast<std::size_t>(farm.tees[0].branch)].id == "feed-B1");
    CHECK(farm.tees[2].takes_m3_s == ebb::test::near(0.004 / 60.0));
    CHECK(farm.tees[2].least_pressure_m == 1.5);
    CHECK(farm.tees[3].vented);
    CHECK(farm.tees[3].takes_m3_s == 0.0);
    CHECK_FALSE(layout::said(farm.tees[3].least_pressure_m));
    CHECK(farm.nozzles[0].holes == 12);
    CHECK(farm.nozzles[1].rated_head_m == 5.0);
    CHECK(farm.standpipes[0].inserts.size() == 2);
    CHECK(farm.standpipes[0].holes[1].diameter_m == 0.00635);
    CHECK(farm.pipes[0].bore_m == ebb::test::near(1.610 * 0.0254));  // ASTM D1785 schedule 40, 1-1/2 in
    CHECK_FALSE(farm.pipes[1].choose);
    CHECK(farm.pipes[1].sold_series == -1);
    CHECK(farm.pipes[2].bore_m == ebb::test::near(0.0272));  // EN ISO 1452-2 PN 16, 32 mm
    CHECK(farm.pipes[2].fittings[0].count == 2);
    CHECK(farm.pipes[2].valves.size() == 2);
    CHECK(farm.pipes[7].air_hole_m == 0.33);
    REQUIRE(farm.arrangements.size() == 3);
    const layout::Conditions conditions = layout::conditions_of(farm, 1);
    CHECK(conditions.valve_opening == std::vector<double>{0.0, 1.0, 0.4, 0.0, 1.0});
    CHECK(conditions.pump_speed == std::vector<double>{0.9, 1.0});
    CHECK(conditions.filter_load == std::vector<double>{0.3});
    CHECK(farm.arrangements[2].at_start_levels);
    const layout::Routine& day = farm.routines[0];
    CHECK(day.from_settled);
    CHECK(day.timers.size() == 2);
    CHECK(day.rotations[0].valves.size() == 2);
    REQUIRE(day.level_switches.size() == 8);
    const bool expected[] = {true, false, true, false, false, true, false, true};  // off below, on above?
    for (std::size_t i = 0; i < 8; ++i) {
        CAPTURE(i);
        CHECK(day.level_switches[i].stops_below == expected[i]);
        CHECK(day.level_switches[i].below_m < day.level_switches[i].above_m);
    }
    REQUIRE(day.draws.size() == 3);
    CHECK_FALSE(layout::said(day.draws[0].every_s));
    CHECK(day.draws[2].every_s == 86400.0);
    REQUIRE(day.changes.size() == 2);
    CHECK(day.changes[0].at_s == 10800.0);
    REQUIRE(day.changes[0].settings.size() == 7);
    CHECK(day.changes[0].settings[2].act == layout::Act::throttle);
    CHECK(day.changes[0].settings[2].value == 0.25);
    CHECK(day.changes[0].settings[3].about == layout::Ref{layout::Kind::pump, 0});
    CHECK(day.changes[0].settings[3].value == 0.7);
    CHECK(day.changes[0].settings[5].insert == "short");
    REQUIRE(day.failures.size() == 2);
    CHECK(day.failures[0].pump == 0);
    CHECK(day.failures[0].at_s == 7200.0);
    CHECK(day.failures[0].for_s == 3600.0);
    CHECK_FALSE(layout::said(day.failures[1].for_s));
    CHECK(farm.routines[1].lasts_s == 86400.0);
    CHECK(farm.routines[1].arrangement == 0);
    CHECK(day.uptakes[0].rate_m3_s == ebb::test::near(0.025 / 86400.0));
    CHECK(result.catalogue.series[0].name == "garden-hose");
    REQUIRE(farm.plus_minus.size() == 3);
    CHECK(farm.plus_minus[0].of.empty());
    CHECK(farm.plus_minus[0].roughness == ebb::test::near(0.5));
    CHECK(farm.plus_minus[0].hazen_williams == ebb::test::near(0.04));
    CHECK(farm.plus_minus[0].bore == ebb::test::near(0.005));
    CHECK(farm.plus_minus[0].losses == ebb::test::near(0.2));
    CHECK(farm.plus_minus[0].start_depth_m == ebb::test::near(0.0127));
    CHECK(farm.plus_minus[0].level_m == ebb::test::near(0.03));
    CHECK(farm.plus_minus[0].pump_head == ebb::test::near(0.03));
    CHECK(farm.plus_minus[0].filter_load == ebb::test::near(0.15));
    REQUIRE(farm.plus_minus[1].of.size() == 2);
    CHECK(farm.plus_minus[1].of[0].kind == layout::Kind::pipe);
    CHECK(farm.plus_minus[1].losses == 0.0);
    CHECK(farm.plus_minus[2].of[0] == layout::Ref{layout::Kind::pump, 1});
    CHECK(farm.plus_minus[2].of[1] == layout::Ref{layout::Kind::vessel, 0});
    CHECK_FALSE(layout::said(farm.plus_minus[2].bore));
}

TEST_CASE("defaults are listed with their range, source and count") {
    const layout::Layout farm = good("small-farm.xml").layout;
    for (const layout::Assumption& entry : farm.assumptions) {
        CAPTURE(entry.what);
        CHECK_FALSE(entry.source.empty());
        CHECK_FALSE(entry.about.empty());
        CHECK(entry.low <= entry.value);
        CHECK(entry.value <= entry.high);
    }
    const layout::Assumption* elbows = assumption(farm, "loss of a fitting (elbow-90)");
    REQUIRE(elbows != nullptr);
    CHECK(elbows->count == 2);
    CHECK(assumption(farm, "roughness (series pvc-pn16)")->count == 3);
    CHECK(assumption(farm, "Manning coefficient of part-full flow (series pvc-pn10)")->value == 0.010);
    CHECK(assumption(farm, "void fraction") == nullptr);  // the bed says its own
    CHECK(assumption(farm, "water temperature") == nullptr);
    CHECK(assumption(good("tiny.xml").layout, "water temperature")->value == 20.0);
    CHECK(assumption(good("every-word.xml").layout, "shape of a pump curve from its label (label only)")->high == 3.0);
}

TEST_CASE("a label is a pump with a band") {
    const layout::Layout farm = good("every-word.xml").layout;
    const layout::PumpModel& model = farm.pump_models[1];
    const double half = model.greatest_flow_m3_s / 2.0;
    CHECK(model.curve.head(half, {}).value == ebb::test::near(0.75 * model.greatest_head_m));
    CHECK(model.curve_low.head(half, {}).value == ebb::test::near(0.5 * model.greatest_head_m));
    CHECK(model.curve_high.head(half, {}).value == ebb::test::near(0.875 * model.greatest_head_m));
}

TEST_CASE("the order of the elements means nothing") {
    std::ifstream stream(kFiles + "good/small-farm.xml");
    std::vector<std::string> lines;
    std::string block;
    int depth = 0;
    for (std::string line; std::getline(stream, line);) {
        if (line.find("<layout") != std::string::npos || line.find("</layout") != std::string::npos) {
            continue;
        }
        block += line + "\n";
        depth += line.find("<pump-model") != std::string::npos ? 1 : 0;
        depth -= line.find("</pump-model") != std::string::npos ? 1 : 0;
        if (depth == 0) {
            lines.push_back(block);
            block.clear();
        }
    }
    const auto joined = [](const std::vector<std::string>& blocks) {
        std::string text = "<layout name=\"a small farm\">\n";
        for (const std::string& one : blocks) {
            text += one;
        }
        return text + "</layout>\n";
    };
    const ReadResult forward = read_layout_text(joined(lines), "f");
    std::ranges::reverse(lines);
    const ReadResult backward = read_layout_text(joined(lines), "b");
    REQUIRE(forward.good());
    REQUIRE(backward.good());
    for (const layout::Pipe& pipe : forward.layout.pipes) {
        const auto twin = std::ranges::find(backward.layout.pipes, pipe.id, &layout::Pipe::id);
        REQUIRE(twin != backward.layout.pipes.end());
        CHECK(twin->bore_m == pipe.bore_m);
        CHECK(twin->roughness_m == pipe.roughness_m);
        CHECK(twin->from.ref.kind == pipe.from.ref.kind);
        CHECK(twin->to.ref.kind == pipe.to.ref.kind);
    }
    REQUIRE(forward.layout.assumptions.size() == backward.layout.assumptions.size());
    for (std::size_t i = 0; i < forward.layout.assumptions.size(); ++i) {
        CHECK(forward.layout.assumptions[i].what == backward.layout.assumptions[i].what);
        CHECK(forward.layout.assumptions[i].value == backward.layout.assumptions[i].value);
        CHECK(forward.layout.assumptions[i].count == backward.layout.assumptions[i].count);
    }
}

TEST_CASE("all errors of a file come in one run, in the order of their places, and none that only follows from another") {
    const ReadResult result =
        read_layout_text("<layout>\n<tank id=\"T\" floor=\"0 m\" rim=\"1\" diameter=\"1 m\" start-depth=\"0.5 m\"/>\n"
                         "<sump id=\"S\" floor=\"0 m\" rim=\"-1 m\" diameter=\"1 m\" start-depth=\"0 m\"/>\n"
                         "<pipes id=\"P\" from=\"T\" to=\"S\"/>\n<pipe id=\"Q\" from=\"P\" to=\"X\" length=\"1 m\" bore=\"3 cm\"/>\n</layout>\n",
                         "farm.xml");
    REQUIRE(result.problems.size() == 4);
    CHECK(result.problems[0].code == "no-unit");
    CHECK(result.problems[0].place.line == 2);
    CHECK(result.problems[0].place.column == 31);
    CHECK(result.problems[1].code == "rim-below-floor");
    CHECK(result.problems[2].code == "unknown-element");
    CHECK(result.problems[2].advice == "did you mean <pipe>?");
    CHECK(result.problems[3].code == "dangling");  // X; not P, which may be there once its element is
    CHECK(netfiles::show(result.problems[0], result.files) ==
          "farm.xml:2:31: error: rim: \"1\" has no unit; a length is wanted\n"
          "    2 | <tank id=\"T\" floor=\"0 m\" rim=\"1\" diameter=\"1 m\" start-depth=\"0.5 m\"/>\n"
          "      |                               ^\n"
          "      > write \"1 m\", or another of its units: m, mm, cm, ft or in\n");
}

TEST_CASE("columns count characters, lines may end as they like, a mark at the beginning is no harm") {
    const std::string text = "\xEF\xBB\xBF<layout name=\"Gew\xC3\xA4"
                             "chshaus\"\r\n\tunits=\"metric\">\r\n<pond id=\"\xC3\x96\" level=\"1\"/></layout>";
    const std::filesystem::path path = passing("columns.xml");
    std::ofstream(path, std::ios::binary) << text;
    const ReadResult result = read_layout(path);
    std::filesystem::remove(path);
    REQUIRE(result.problems.size() == 2);
    CHECK(result.problems[0].place.line == 2);
    CHECK(result.problems[0].place.column == 9);
    CHECK(result.problems[1].place.line == 3);
    CHECK(result.problems[1].place.column == 21);
    CHECK(result.problems[1].about == "\xC3\x96");
}

TEST_CASE("links cannot lead out of the folder, and unreadable paths are said") {
    namespace fs = std::filesystem;
    const fs::path folder = passing("links");
    fs::remove_all(folder);
    fs::create_directories(folder / "farm");
    std::ofstream(folder / "outside.xml") << "<layout><pond id=\"P\" level=\"0 m\"/></layout>";
    fs::create_symlink(folder / "outside.xml", folder / "farm" / "inside.xml");
    std::ofstream(folder / "farm" / "main.xml") << "<layout><include file=\"inside.xml\"/></layout>";
    const ReadResult result = read_layout(folder / "farm" / "main.xml");
    REQUIRE_FALSE(result.problems.empty());
    CHECK(result.problems[0].code == "include-outside");
    CHECK(read_layout(folder / "nowhere.xml").problems.at(0).code == "no-such-file");
    CHECK(read_layout(folder).problems.at(0).code == "no-such-file");
    fs::remove_all(folder);
}

TEST_CASE("hostile files are survived") {
    const auto first_code = [](const std::string& text) {
        const ReadResult result = read_layout_text(text, "x");
        return result.problems.empty() ? std::string() : result.problems[0].code;
    };
    std::string nested = "<layout>";
    for (int i = 0; i < 10000; ++i) {
        nested += "<tank>";
    }
    CHECK(first_code(nested) == "too-deep");
    CHECK(first_code("<layout" + std::string(5'000'000, ' ')) == "bad-markup");
    CHECK(first_code("<layout name=\"" + std::string(2'000'000, 'x') + "\"/>") == "bad-markup");
    CHECK(first_code(std::string(1'000'000, '<')) == "bad-markup");
    CHECK(first_code(std::string(1'000'000, '&')) == "stray-text");
    CHECK(first_code(std::string("\0\0\0", 3)) == "not-text");
    std::string attributes = "<layout ";
    for (int i = 0; i < 100000; ++i) {
        attributes += "a" + std::to_string(i) + "=\"\" ";
    }
    CHECK(first_code(attributes + "/>") == "bad-markup");
    std::string errors = "<layout>";
    for (int i = 0; i < 200000; ++i) {
        errors += "<tonk/>";
    }
    const ReadResult capped = read_layout_text(errors + "</layout>", "x");
    CHECK(capped.problems.size() == 1001);
    CHECK(netfiles::show(capped.problems.back(), capped.files).find("reading stopped") != std::string::npos);
    // every way to cut a good file short is an error, never a crash
    std::ifstream stream(kFiles + "good/every-word.xml");
    const std::string whole{std::istreambuf_iterator<char>(stream), std::istreambuf_iterator<char>()};
    for (std::size_t length = 0; length + 10 < whole.size(); length += 7) {
        CHECK_FALSE(first_code(whole.substr(0, length)).empty());
    }
    // and any byte may be another one
    std::uint32_t state = 7;
    for (int round = 0; round < 3000; ++round) {
        std::string changed = whole;
        for (int i = 0; i < 3; ++i) {
            state = state * 1664525U + 1013904223U;
            changed[(state >> 8U) % changed.size()] = static_cast<char>((state >> 3U) & 0x7FU);
        }
        const ReadResult result = read_layout_text(changed, "x");
        for (const layout::Problem& problem : result.problems) {
            CHECK_FALSE(netfiles::show(problem, result.files).empty());
        }
    }
}

TEST_CASE("a wrong attribute does not hide where a pipe dangles, nor what is of the wrong kind") {
    const std::string tank =
        R"(<tank id="T1" floor="-1 m" rim="1 m" diameter="1 m" start-depth="0.5 m"/><tank id="T2" floor="-12 ft" rim="1 m" diameter="1 m" start-depth="0.5 m"/>)";
    const auto codes = [](const std::string& text) {
        std::vector<std::string> found;
        for (const layout::Problem& problem : read_layout_text("<layout>" + text + "</layout>", "x").problems) {
            found.push_back(problem.code);
        }
        std::ranges::sort(found);
        return found;
    };
    using Codes = std::vector<std::string>;
    CHECK(codes(tank + R"(<pipe id="A" from="T1" to="T2" length="2 m" bore="20 mm"/>)") == Codes{});  // below the datum is no error
    CHECK(codes(tank + R"(<pipe id="A" from="T1" to="T3" length="2 m" bore="20 furlong"/>)") == Codes{"dangling", "unknown-unit"});
    CHECK(codes(tank + R"(<pipe id="A" from="T1" to="T9" length="2 m" colour="blue" bore="20 mm"/>)") == Codes{"dangling", "unknown-attribute"});
    CHECK(codes(tank + R"(<pipe id="A" from="T1" to="T2" length="2 m" bore="20 mm"/><pipe id="B" from="T1" to="A" length="2" bore="20 mm"/>)") ==
          Codes{"no-unit", "wrong-kind"});
    CHECK(codes(tank + R"(<tnak id="T3" floor="1 m"/><pipe id="A" from="T1" to="T3" length="2" bore="20 mm"/>)") ==
          Codes{"no-unit", "unknown-element"});  // T3 is there, though misspelt
}

TEST_SUITE("slow: size") {
    TEST_CASE("reading takes time in proportion to the file, on many lines or on one") {
        for (const std::string& joint : {std::string("\n"), std::string(" ")}) {
            const double small = seconds_to_read(many_pipes(60'000, joint), 60'000);
            const double large = seconds_to_read(many_pipes(360'000, joint), 360'000);
            CAPTURE(small);
            CAPTURE(large);
            CHECK(large < 6.0 * small * 2.5);  // a quadratic step would be 36 times; both are beyond what a processor holds near
        }
    }

    TEST_CASE("a million pipes, and a hundred megabytes") {
        const std::string text = many_pipes(1'000'000, "\n");
        CHECK(text.size() > 100'000'000);
        const auto start = std::chrono::steady_clock::now();
        const ReadResult result = read_layout_text(text, "million.xml");
        const double seconds = std::chrono::duration<double>(std::chrono::steady_clock::now() - start).count();
        MESSAGE("read in ", seconds, " s");
        CHECK(result.good());
        CHECK(result.layout.pipes.size() == 1'000'000);
    }
}

TEST_CASE("places along the farm are read where they are said, and are no figure of anything") {
    const ReadResult result = read_layout_text(
        R"(<layout><pond id="A" level="2 m" x="-1.5 m"/><tank id="T" floor="0 m" rim="1 m" diameter="1 m" start-depth="0.2 m" x="350 cm"/>
  <tee id="J" elevation="0.5 m" x="2 m"/><tee id="K" elevation="0.5 m"/>
  <pipe id="P" from="A" to="J" length="9 m" bore="30 mm"/><pipe id="Q" from="J" to="K" length="9 m" bore="30 mm"/>
  <pipe id="R" from="K" to="T" to-height="0.9 m" length="9 m" bore="30 mm"/></layout>)",
        "along");
    REQUIRE(result.good());
    CHECK(result.layout.ponds[0].x_m == ebb::test::near(-1.5));
    CHECK(result.layout.vessels[0].x_m == ebb::test::near(3.5));
    CHECK(result.layout.tees[0].x_m == ebb::test::near(2.0));
    CHECK(std::isnan(result.layout.tees[1].x_m));
}
