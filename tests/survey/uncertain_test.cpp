// Percentiles of uncertain figures against closed forms, points against what they promise, and the words of the layout against what they mean.

#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>
#include <vector>

#include "solver/layout/validate.h"
#include "solver/survey/normal_points.h"
#include "solver/survey/uncertain.h"
#include "tests/near.h"
#include "tests/settle/by_hand.h"

namespace {

using namespace ebb;

/// Of the standard normal distribution: 95 of 100 cases lie below (NIST/SEMATECH e-Handbook of Statistical Methods, table 1.3.6.7.1).
constexpr double kNinetyFive = 1.6448536269514722;

layout::Layout pond_to_pond() {
    layout::Layout layout;
    layout.friction = layout::FrictionLaw::hazen_williams;
    layout.ponds.push_back({"HIGH", {}, 3.0});
    layout.ponds.push_back({"LOW", {}, 0.0});
    layout.pipes = {test::pipe("P", "HIGH", "LOW", 100.0, 0.05)};
    layout.pipes[0].entry_loss = layout.pipes[0].exit_loss = 0.0;
    return layout;
}

layout::PlusMinus nothing_in_doubt() {
    layout::PlusMinus line;
    line.roughness = line.hazen_williams = line.bore = line.losses = line.start_depth_m = line.level_m = line.pump_head = line.filter_load = 0.0;
    return line;
}

survey::UncertainAnswer solve(layout::Layout& layout, std::size_t samples, unsigned threads = 1) {
    const auto problems = layout::validate(layout);
    REQUIRE(problems.empty());
    survey::UncertainOptions options;
    options.samples = samples;
    options.threads = threads;
    return survey::solve_uncertain(layout, layout::conditions_of(layout, 0), false, options);
}

double flow_of(layout::Layout layout) {
    REQUIRE(layout::validate(layout).empty());
    return settle::Farm(layout).solve(0).pipes[0].flow_m3_s;
}

}  // namespace

TEST_CASE("Hazen-Williams: the flow is in proportion to C and to the bore to the power 4.8704/1.852, so its percentiles are known") {
    layout::Layout layout = pond_to_pond();
    layout::PlusMinus line = nothing_in_doubt();
    line.hazen_williams = 0.10;
    line.bore = 0.03;
    layout.plus_minus.push_back(line);
    const double middle = flow_of(layout);
    const survey::UncertainAnswer answer = solve(layout, 4096);
    CHECK(answer.solved == 4096);
    CHECK(answer.alone == 0);
    const double of_c = 0.5 * std::log(1.10), of_bore = 0.5 * std::log(1.03) * 4.8704 / 1.852, both = std::hypot(of_c, of_bore);
    CHECK(answer.pipe_flow_m3_s[0].middle == ebb::test::near(middle).epsilon(3e-4));
    CHECK(answer.pipe_flow_m3_s[0].low == ebb::test::near(middle * std::exp(-kNinetyFive * both)).epsilon(3e-4));
    CHECK(answer.pipe_flow_m3_s[0].high == ebb::test::near(middle * std::exp(kNinetyFive * both)).epsilon(3e-4));
}

TEST_CASE("causes: the shares of C and bore in the logarithm's variance, as they are added; each rises with what it should") {
    layout::Layout layout = pond_to_pond();
    // into a tank that overflows back: inflows have causes
    layout.vessels.push_back(test::prism("TANK", -1.0, 5.0, 1.0, 0.5));
    layout.pipes[0].to.id = "TANK";
    layout.pipes.push_back(test::pipe("OUT", "TANK", "LOW", 0.01, 0.5));
    layout.pipes[0].to.height_m = 2.0;  // into air: the level behind it does not matter
    layout::PlusMinus line = nothing_in_doubt();
    line.hazen_williams = 0.10;
    line.bore = 0.03;
    line.of_ids = {"P"};
    line.start_depth_m = line.level_m = line.pump_head = line.filter_load = layout::kNotSaid;
    layout.plus_minus = {nothing_in_doubt(), line};
    const survey::UncertainAnswer answer = solve(layout, 1024);
    REQUIRE(answer.uncertainties.size() == 2);
    CHECK(answer.uncertainties[0].what == survey::Unsure::hazen_williams);
    CHECK(answer.uncertainties[0].things == std::vector<std::int32_t>{0});
    const double of_c = std::pow(std::log(1.10), 2.0), of_bore = std::pow(std::log(1.03) * 4.8704 / 1.852, 2.0);
    const auto& causes = answer.vessels[0].inflow_m3_s.causes;
    REQUIRE(causes.size() == 2);
    CHECK(causes[0].uncertainty == 0);
    CHECK(causes[0].share == ebb::test::near(of_c / (of_c + of_bore)).epsilon(0.01));
    CHECK(causes[1].share == ebb::test::near(of_bore / (of_c + of_bore)).epsilon(0.01));
    CHECK(causes[0].rises);
    CHECK(causes[1].rises);
    CHECK_FALSE(answer.vessels[0].turnover_s.causes[0].rises);
    REQUIRE(answer.measure.size() == 2);
    CHECK(answer.measure[0].uncertainty == 0);
}

TEST_CASE("a pipe with local losses alone: the flow is in proportion to 1/sqrt of them; a pond's level adds to the head") {
    layout::Layout layout = pond_to_pond();
    layout.friction = layout::FrictionLaw::darcy_weisbach;
    layout.pipes = {test::loss_only("P", "HIGH", "LOW", 0.05, 20.0)};
    layout::PlusMinus line = nothing_in_doubt();
    line.losses = 0.5;
    layout.plus_minus = {line};
    const double middle = flow_of(layout);
    survey::UncertainAnswer answer = solve(layout, 1024);
    CHECK(answer.pipe_flow_m3_s[0].low == ebb::test::near(middle * std::pow(1.5, -kNinetyFive / 4.0)).epsilon(1e-3));
    CHECK(answer.pipe_flow_m3_s[0].high == ebb::test::near(middle * std::pow(1.5, kNinetyFive / 4.0)).epsilon(1e-3));

    layout.plus_minus[0].losses = 0.0;
    layout.plus_minus[0].level_m = 0.2;  // 3 m between two levels of 0.1 m standard deviation each
    answer = solve(layout, 1024);
    CHECK(answer.alone == 1024);
    const double deviation = 0.1 * std::sqrt(2.0);
    CHECK(answer.pipe_flow_m3_s[0].low == ebb::test::near(middle * std::sqrt((3.0 - kNinetyFive * deviation) / 3.0)).epsilon(1e-3));
    CHECK(answer.pipe_flow_m3_s[0].high == ebb::test::near(middle * std::sqrt((3.0 + kNinetyFive * deviation) / 3.0)).epsilon(1e-3));
}

TEST_CASE("a closed loop: what is poured in at the start stands in the sump at the end; and samples do not depend on the threads") {
    layout::Layout layout;
    layout.vessels = {test::prism("SUMP", -1.0, 1.0, 2.0, 0.5, layout::VesselKind::sump), test::prism("A", 0.4, 1.0, 1.0, 0.6)};
    test::add_steady_pump(layout, "PUMP", "SUMP", 1.0e-3, 0.0);
    test::add_standpipe(layout, "SA", "A", 0.05, 0.6);
    layout.pipes = {test::pipe("UP", "PUMP", "A", 2.0, 0.04), test::drain("DOWN", "SA", "SUMP", 2.0, 0.05)};
    layout.pipes[0].to.height_m = 0.9;
    layout.pipes[1].to.height_m = 0.9;
    layout::PlusMinus line = nothing_in_doubt();
    line.start_depth_m = 0.04;
    line.of_ids = {"SUMP"};
    for (double* other : {&line.roughness, &line.hazen_williams, &line.bore, &line.losses, &line.level_m, &line.pump_head, &line.filter_load})
        *other = layout::kNotSaid;
    layout.plus_minus = {nothing_in_doubt(), line};
    const survey::UncertainAnswer one = solve(layout, 300, 1), three = solve(layout, 300, 3);
    REQUIRE(one.solved == 300);
    const survey::Spread& depth = one.vessels[0].depth_m;
    CHECK(depth.high - depth.middle == ebb::test::near(kNinetyFive * 0.02).epsilon(0.01));
    CHECK(depth.middle - depth.low == ebb::test::near(kNinetyFive * 0.02).epsilon(0.01));
    CHECK(one.vessels[1].depth_m.high - one.vessels[1].depth_m.low < 1e-6);  // 66 mm in 10 km of head: 7e-6 of the flow, and as much of some 30 mm
    CHECK(depth.low == three.vessels[0].depth_m.low);
    CHECK(depth.high == three.vessels[0].depth_m.high);
    CHECK(one.pumps[0].flow_m3_s.middle == three.pumps[0].flow_m3_s.middle);
}

TEST_CASE(
    "points: every dimension has one point in each of 2^k slices, and any two of the first few one in each of 2^k cells of 2^(k/2) by 2^(k/2)") {
    constexpr std::size_t kPoints = 256, kSide = 16;
    const survey::NormalPoints points(kPoints, 4000);
    const auto below = [](double z) { return 0.5 * std::erfc(-z / std::sqrt(2.0)); };
    const auto slices = [&](std::size_t d) {
        std::vector<int> seen(kPoints, 0);
        for (std::size_t i = 0; i < kPoints; ++i) ++seen[static_cast<std::size_t>(below(points.at(i)[d]) * kPoints)];
        return std::all_of(seen.begin(), seen.end(), [](int n) { return n == 1; });
    };
    for (const std::size_t d : {0U, 1U, 2U, 17U, 500U, 3600U}) CHECK(slices(d));
    CHECK_FALSE(slices(3999));  // by chance there
    std::vector<int> cells(kSide * kSide, 0);
    for (std::size_t i = 0; i < kPoints; ++i)
        ++cells[static_cast<std::size_t>(below(points.at(i)[0]) * kSide) * kSide + static_cast<std::size_t>(below(points.at(i)[1]) * kSide)];
    CHECK(std::all_of(cells.begin(), cells.end(), [](int n) { return n == 1; }));
}

TEST_CASE("points: the mean of a smooth function comes nearer to the truth faster than by chance") {
    // E exp(0.5 sum z_d) over 4 dimensions = exp(4/8); sixteen such functions, each of 4 dimensions of its own
    constexpr std::size_t kEach = 4, kFunctions = 16;
    const auto error = [](std::size_t count) {
        const survey::NormalPoints points(count, kEach * kFunctions);
        double squares = 0.0;
        for (std::size_t function = 0; function < kFunctions; ++function) {
            double sum = 0.0;
            for (std::size_t i = 0; i < count; ++i) {
                double exponent = 0.0;
                for (const double z : points.at(i).subspan(function * kEach, kEach)) exponent += 0.5 * z;
                sum += std::exp(exponent);
            }
            squares += std::pow(sum / static_cast<double>(count) - std::exp(0.5), 2.0);
        }
        return std::sqrt(squares / kFunctions);
    };
    // by chance: exp(0.5) sqrt(e - 1)/sqrt(N)
    const auto chance = [](double count) { return std::exp(0.5) * std::sqrt(std::exp(1.0) - 1.0) / std::sqrt(count); };
    CHECK(error(256) < chance(256) / 2.0);
    CHECK(error(4096) < chance(4096) / 4.0);
    CHECK(error(4096) < error(256) / 8.0);  // by chance it would be a quarter
}

TEST_CASE("percentiles: the seventh definition of Hyndman and Fan, as numpy.percentile has it") {
    const std::vector<double> sorted{1.0, 2.0, 4.0, 8.0, 16.0};
    CHECK(survey::percentile(sorted, 0.05) == ebb::test::near(1.2));
    CHECK(survey::percentile(sorted, 0.50) == 4.0);
    CHECK(survey::percentile(sorted, 0.95) == ebb::test::near(14.4));
}

TEST_CASE("who is wrong together: pipes of a series share a roughness, sizes a bore; what is named goes its own way") {
    layout::Layout layout;
    layout.ponds = {{"HIGH", {}, 3.0}, {"LOW", {}, 0.0}};
    for (const char* id : {"A", "B", "C", "D"}) layout.pipes.push_back(test::pipe(id, "HIGH", "LOW", 10.0, 0.05));
    for (std::size_t p = 0; p < 3; ++p) layout.pipes[p].series = "pvc-pn16", layout.pipes[p].size = "50 mm";
    layout.pipes[1].size = "40 mm";
    layout.pipes[1].bore_m = 0.04;
    layout::PlusMinus named;
    named.of_ids = {"C"};
    named.roughness = 3.0;
    layout.plus_minus = {named};
    REQUIRE(layout::validate(layout).empty());
    const std::vector<survey::Uncertainty> list = survey::uncertainties_of(layout);
    const auto of = [&](survey::Unsure what) {
        std::vector<std::vector<std::int32_t>> groups;
        for (const auto& one : list)
            if (one.what == what) groups.push_back(one.things);
        return groups;
    };
    using Groups = std::vector<std::vector<std::int32_t>>;
    CHECK(of(survey::Unsure::roughness) == Groups{{0, 1}, {2}, {3}});
    CHECK(of(survey::Unsure::bore) == Groups{{0, 2}, {1}, {3}});
    CHECK(of(survey::Unsure::losses) == Groups{{0}, {1}, {2}, {3}});
    CHECK(of(survey::Unsure::pond_level).empty());
    for (const auto& one : list)
        if (one.what == survey::Unsure::roughness) CHECK((one.plus_minus == 3.0) == !one.assumed);
}

TEST_CASE("what cannot be said of uncertainty is said to be so") {
    const auto codes = [](layout::PlusMinus line, layout::PlusMinus other) {
        layout::Layout layout = pond_to_pond();
        layout.plus_minus = {std::move(line), std::move(other)};
        std::string all;
        for (const layout::Problem& problem : layout::validate(layout)) all += problem.code + " ";
        return all;
    };
    layout::PlusMinus fine, empty, negative, vast, stranger, pump_of_pipe, twice;
    fine.of_ids = {"P"};
    fine.bore = 0.01;
    negative.losses = -0.1;
    vast.bore = 0.2;
    stranger.of_ids = {"Q"};
    stranger.bore = 0.01;
    pump_of_pipe.of_ids = {"P"};
    pump_of_pipe.pump_head = 0.05;
    twice = fine;
    CHECK(codes(fine, fine) == "plus-minus-twice ");
    CHECK(codes(fine, empty) == "plus-minus-empty ");
    CHECK(codes(fine, negative) == "out-of-bounds ");
    CHECK(codes(fine, vast) == "out-of-bounds ");
    CHECK(codes(fine, stranger) == "dangling ");
    CHECK(codes(fine, pump_of_pipe) == "plus-minus-of-what ");
}

TEST_CASE("an unsure pump gives its head times the factor, worn or new, and what is measured is so much more or less") {
    layout::Layout drawn = pond_to_pond();
    drawn.vessels = {test::prism("T", 0.0, 1.0, 1.0, 0.5)};
    test::add_steady_pump(drawn, "NEW", "LOW", 1e-3);
    test::add_steady_pump(drawn, "WORN", "LOW", 1e-3);
    drawn.pumps[1].wear = 0.25;
    drawn.pipes.push_back(test::pipe("N", "NEW", "T", 2.0, 0.05));
    drawn.pipes.push_back(test::pipe("W", "WORN", "T", 2.0, 0.05));
    REQUIRE(layout::validate(drawn).empty());
    std::vector<survey::Uncertainty> list(2);
    list[0].what = survey::Unsure::pump_head;
    list[0].plus_minus = 0.2;
    list[0].things = {0, 1};
    list[1].what = survey::Unsure::start_depth;
    list[1].plus_minus = 0.04;
    list[1].things = {0};
    const layout::Conditions arrangement = layout::conditions_of(drawn, 0);
    // two standard deviations up and down: "give or take a fifth" is a factor of 1.2 or one over 1.2, and 0.04 m are 0.04 m
    for (const double z : {2.0, -2.0}) {
        layout::Layout varied = drawn;
        layout::Conditions conditions = arrangement;
        survey::vary(drawn, arrangement, list, std::vector<double>{z, z}, varied, conditions);
        for (std::size_t p = 0; p < 2; ++p) {
            const auto head = [&](double wear) { return drawn.pump_models[p].curve.head(5e-4, {.speed = 1.0, .count = 1, .wear = wear}).value; };
            CHECK(head(varied.pumps[p].wear) == test::near(head(drawn.pumps[p].wear) * (z > 0.0 ? 1.2 : 1.0 / 1.2)).epsilon(1e-12));
        }
        CHECK(varied.vessels[0].start_depth_m == test::near(0.5 + 0.02 * z).epsilon(1e-12));
    }
}
