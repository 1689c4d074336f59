// The three lives of a siphon, by hand: too little water dribbles over its crest, too much never lets it break, between the two it cycles.
// Primed, the level stands over its outlet by (entrance 0.5 + loss + pipe) velocity heads; unprimed, it is the weir of its bore at the
// crest (docs/theory.md).

#include <doctest/doctest.h>

#include <numbers>

#include "tests/settle/by_hand.h"

namespace {

using namespace ebb;
using doctest::Approx;

constexpr double kG = 9.80665, kBore = 0.025, kCrest = 0.25, kBreaks = 0.05, kStarts_m3_s = 1.2e-4;
constexpr double kEntrance = 0.5, kLoss = 2.0, kPipeHeads = 6.0;
constexpr double kBedFloor = 0.6, kOutlet = 0.2;  // elevations: the siphon's pipe ends 0.2 m above the datum

double area() { return std::numbers::pi * kBore * kBore / 4.0; }

/// Flow of the primed siphon with the bed at `depth`.
double primed_flow(double depth_m) { return area() * std::sqrt(2.0 * kG * (kBedFloor + depth_m - kOutlet) / (kEntrance + kLoss + kPipeHeads)); }

settle::Answer bed_fed_with(double flow_m3_s) {
    layout::Layout layout;
    layout.vessels = {test::prism("SUMP", -1.0, 1.0, 2.0, 0.8, layout::VesselKind::sump), test::prism("BED", kBedFloor, 0.4, 1.0, 0.0)};
    test::add_steady_pump(layout, "P", "SUMP", flow_m3_s);
    layout::Siphon siphon;
    siphon.id = "SI";
    siphon.in_id = "BED";
    siphon.bore_m = kBore;
    siphon.crest_m = kCrest;
    siphon.breaks_at_m = kBreaks;
    siphon.starts_with_m3_s = kStarts_m3_s;
    siphon.loss = kLoss;
    layout.siphons = {siphon};
    layout.pipes = {test::pipe("RISER", "P", "BED", 2.0, 0.03), test::loss_only("TAIL", "SI", "SUMP", kBore, kPipeHeads)};
    layout.pipes[0].to.height_m = 0.38;
    layout.pipes[1].to.height_m = kOutlet + 1.0;  // above the sump's rim: it falls freely
    return test::solve(layout);
}

bool warns(const settle::Answer& answer, const std::string& code) {
    return std::any_of(answer.warnings.begin(), answer.warnings.end(), [&](const settle::Warning& w) { return w.code == code; });
}

}  // namespace

TEST_CASE("too little water dribbles over the crest") {
    const auto answer = bed_fed_with(0.98 * kStarts_m3_s);
    REQUIRE(answer.state == settle::State::settled);
    CHECK(answer.siphons[0].dribbles);
    CHECK_FALSE(answer.siphons[0].primed);
    CHECK(warns(answer, "siphon-dribbles"));
    const double over = std::pow(answer.pumps[0].flow_m3_s / (2.0 / 3.0 * 0.62 * std::sqrt(2.0 * kG) * std::numbers::pi * kBore), 2.0 / 3.0);
    CHECK(answer.vessels[1].depth_m == Approx(kCrest + over).epsilon(1e-7));
}

TEST_CASE("between its starting flow and what it carries at its break height a siphon cycles") {
    const double most = primed_flow(kBreaks);
    REQUIRE(most > 2.0 * kStarts_m3_s);
    for (const double flow : {1.02 * kStarts_m3_s, 0.5 * (kStarts_m3_s + most), 0.98 * most}) {
        CAPTURE(flow);
        const auto answer = bed_fed_with(flow);
        CHECK(answer.state == settle::State::cycles);
        CHECK_FALSE(answer.siphons[0].dribbles);
        CHECK_FALSE(answer.siphons[0].runs_for_ever);
        CHECK(warns(answer, "siphon-cycles"));
        CHECK_FALSE(answer.why.empty());
    }
}

TEST_CASE("too much water never lets it break, and the bed stands where the siphon carries it") {
    for (const double depth : {1.1 * kBreaks, 0.1, 0.2}) {
        CAPTURE(depth);
        const auto answer = bed_fed_with(primed_flow(depth));
        REQUIRE(answer.state == settle::State::settled);
        CHECK(answer.siphons[0].primed);
        CHECK(answer.siphons[0].runs_for_ever);
        CHECK(warns(answer, "siphon-runs-for-ever"));
        const double velocity = answer.pumps[0].flow_m3_s / area();
        const double level = kOutlet + (kEntrance + kLoss + kPipeHeads) * velocity * velocity / (2.0 * kG);
        CHECK(answer.vessels[1].level_m == Approx(level).epsilon(1e-5));
        CHECK(answer.siphons[0].flow_m3_s == Approx(answer.pumps[0].flow_m3_s).epsilon(1e-9));
    }
}
