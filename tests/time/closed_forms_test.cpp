// Times against what can be worked out on paper. Sources: Torricelli's law (De motu aquarum, 1644) and its like: a vessel of area A under an outflow
// k h^n obeys A dh/dt = -k h^n, so that the time between two depths is an integral in closed form, written beside each check; the laws
// themselves are those of docs/theory.md (orifice C a sqrt(2 g h), lip 2/3 0.62 sqrt(2g) pi D h^1.5), written anew here; laminar flow by Hagen (1839)
// and Poiseuille (1841), h = 128 nu L Q/(pi g D^4); friction by Colebrook (1939), solved here by plain substitution. Integrals that have no closed
// form are taken by Boost.Math's Gauss-Kronrod rule. The viscosity of water at 20 degC is 1.0016 mPa s, its density 998.21 kg/m3 (IAPWS).
//
// What is promised is 0.1 %. Where the law is exact for the model the times agree far closer, and are held closer.

#include <boost/math/quadrature/gauss_kronrod.hpp>
#include <numbers>

#include "tests/time/in_time.h"

namespace {

using namespace ebb;
using doctest::Approx;
using layout::Layout;
using layout::VesselKind;
using test::first_of;
using test::times_of;
using time::Happening;

constexpr double kG = 9.80665;
constexpr double kPromised = 1e-3;
constexpr double kEvent_s = 0.01;  ///< events are found to 10 ms
constexpr double kViscosity_m2_s = 1.0016e-3 / 998.21;

double circle_m2(double bore_m) { return std::numbers::pi * bore_m * bore_m / 4.0; }
double weir_factor(double bore_m) { return 2.0 / 3.0 * 0.62 * std::sqrt(2.0 * kG) * std::numbers::pi * bore_m; }

template <class Law>
double quadrature(Law law, double low, double high) {
    return boost::math::quadrature::gauss_kronrod<double, 61>::integrate(law, low, high, 12, 1e-12);
}

/// A vessel that tells when it falls to `told_m`.
layout::Vessel telling(layout::Vessel vessel, double told_m) {
    vessel.kind = VesselKind::sump;
    vessel.least_depth_m = told_m;
    return vessel;
}

/// A vessel whose standpipe has a hole at the floor and a lip far above, and a wide drain down to a pond.
Layout leaking(const layout::Vessel& vessel, double hole_m) {
    Layout layout;
    layout.vessels = {vessel};
    layout.ponds.push_back({.id = "W", .place = {}, .level_m = vessel.floor_m - 2.0});
    test::add_standpipe(layout, "S", vessel.id, 0.1, 0.95 * (vessel.rim_m - vessel.floor_m));
    layout.standpipes[0].holes.push_back({.height_m = 0.0, .diameter_m = hole_m, .count = 1, .discharge_coefficient = 0.61, .place = {}});
    layout.pipes = {test::drain("D", "S", "W", 2.0, 0.1)};
    return layout;
}

/// A vessel that stands above the lip of a wide standpipe.
Layout overflowing(const layout::Vessel& vessel, double bore_m, double lip_m) {
    Layout layout;
    layout.vessels = {vessel};
    layout.ponds.push_back({.id = "W", .place = {}, .level_m = vessel.floor_m - 2.0});
    test::add_standpipe(layout, "S", vessel.id, bore_m, lip_m);
    layout.pipes = {test::drain("D", "S", "W", 2.0, 2.0 * bore_m)};
    return layout;
}

/// When the first vessel falls to its told depth.
double falls_after_s(Layout& layout, double lasts_s) {
    const auto course = test::follow(layout, lasts_s);
    CHECK(course.ending == time::Ending::time_over);
    return first_of(course, Happening::below_least_depth, layout.vessels[0].id);
}

/// A course under a constant inflow into the first vessel.
time::Course poured(Layout& layout, double rate_m3_s, double lasts_s) {
    time::Plan plan = test::plan_for(layout, {}, lasts_s);
    time::Hose hose;
    hose.vessel = 0;
    hose.rate_m3_s = rate_m3_s;
    plan.hoses = {hose};
    return time::Simulation(layout).run(plan);
}

}  // namespace

TEST_CASE("a prism empties through an orifice in Torricelli's time") {
    constexpr double kArea = 2.0, kHole = 0.02, kFrom = 0.9;
    const double k = 0.61 * circle_m2(kHole) * std::sqrt(2.0 * kG);
    for (const double to : {0.6, 0.2, 0.02, 0.002}) {
        Layout layout = leaking(telling(test::prism("T", 0.0, 1.0, kArea, kFrom), to), kHole);
        const double exact_s = 2.0 * kArea / k * (std::sqrt(kFrom) - std::sqrt(to));
        CAPTURE(to);
        CHECK(falls_after_s(layout, 1.2 * exact_s) == Approx(exact_s).epsilon(0.01 * kPromised));
    }
}

TEST_CASE("a triangular vessel (V ~ h^2) empties through an orifice as 4/3 powers say") {
    // A = c h: c h dh/dt = -k sqrt(h), so t = 2/3 c/k (h1^1.5 - h2^1.5)
    constexpr double kWidening = 3.0, kHole = 0.03, kFrom = 0.9, kTo = 0.1;
    layout::Vessel vessel = telling(test::prism("T", 0.0, 1.0, 1.0, kFrom), kTo);
    vessel.volume.clear();
    constexpr int kPoints = 200;
    for (int i = 0; i <= kPoints; ++i) {
        const double depth = static_cast<double>(i) / kPoints;
        vessel.volume.push_back({depth, kWidening * depth * depth / 2.0});
    }
    Layout layout = leaking(vessel, kHole);
    const double k = 0.61 * circle_m2(kHole) * std::sqrt(2.0 * kG);
    const double exact_s = 2.0 / 3.0 * kWidening / k * (std::pow(kFrom, 1.5) - std::pow(kTo, 1.5));
    CHECK(falls_after_s(layout, 1.2 * exact_s) == Approx(exact_s).epsilon(0.1 * kPromised));
}

TEST_CASE("a prism empties over a weir down to a film") {
    // A dh/dt = -k h^1.5, so t = 2 A/k (h2^-1/2 - h1^-1/2)
    constexpr double kArea = 1.5, kBore = 0.2, kLip = 0.5, kFrom = 0.07;
    REQUIRE(kFrom < 0.375 * kBore);
    const double k = weir_factor(kBore);
    for (const double to : {0.03, 0.003, 0.0003}) {
        Layout layout = overflowing(telling(test::prism("T", 0.0, 1.0, kArea, kLip + kFrom), kLip + to), kBore, kLip);
        const double exact_s = 2.0 * kArea / k * (1.0 / std::sqrt(to) - 1.0 / std::sqrt(kFrom));
        CAPTURE(to);
        CHECK(falls_after_s(layout, 1.2 * exact_s) == Approx(exact_s).epsilon(kPromised));
    }
}

TEST_CASE("the mouth of a standpipe as an orifice, then the weir: the two times add") {
    // beyond 3/8 D the mouth is an orifice 0.62 a sqrt(2 g h) under the depth over the lip
    constexpr double kArea = 1.5, kBore = 0.08, kLip = 0.3, kFrom = 0.2, kTo = 0.002, kCrossing = 0.375 * kBore;
    Layout layout = overflowing(telling(test::prism("T", 0.0, 1.0, kArea, kLip + kFrom), kLip + kTo), kBore, kLip);
    const double mouth = 0.62 * circle_m2(kBore) * std::sqrt(2.0 * kG), weir = weir_factor(kBore);
    const double exact_s =
        2.0 * kArea / mouth * (std::sqrt(kFrom) - std::sqrt(kCrossing)) + 2.0 * kArea / weir * (1.0 / std::sqrt(kTo) - 1.0 / std::sqrt(kCrossing));
    CHECK(falls_after_s(layout, 1.2 * exact_s) == Approx(exact_s).epsilon(0.1 * kPromised));
}

TEST_CASE("the level falls as a prism's does behind a triangular weir where the area is as 1/h and the weir as h^1.5") {
    // A = c/h under k h^1.5 is dh/dt = -(k/c) h^2.5, that of a prism behind a V-notch: t = 2/3 c/k (h2^-1.5 - h1^-1.5)
    constexpr double kShape = 0.05, kBore = 0.2, kLip = 0.4, kFrom = 0.07, kTo = 0.02;
    layout::Vessel vessel = telling(test::prism("T", 0.0, 0.6, 1.0, kLip + kFrom), kLip + kTo);
    constexpr int kPoints = 400;
    constexpr double kLowest = 0.9 * kTo, kHighest = 0.1;
    vessel.volume = {{0.0, 0.0}};
    for (int i = 0; i <= kPoints; ++i) {
        const double over = kLowest * std::pow(kHighest / kLowest, static_cast<double>(i) / kPoints);
        vessel.volume.push_back({kLip + over, 1.0 + kShape * std::log(over / kLowest)});
    }
    vessel.volume.push_back({0.6, 1.0 + 2.0 * kShape * std::log(kHighest / kLowest)});
    Layout layout = overflowing(vessel, kBore, kLip);
    const double exact_s = 2.0 / 3.0 * kShape / weir_factor(kBore) * (std::pow(kTo, -1.5) - std::pow(kFrom, -1.5));
    CHECK(falls_after_s(layout, 1.2 * exact_s) == Approx(exact_s).epsilon(0.1 * kPromised));
}

TEST_CASE("a constant inflow fills a prism to its lip at the exact second and then towards its overflow head") {
    constexpr double kArea = 1.2, kBore = 0.1, kLip = 0.5, kStart = 0.1, kRate = 2e-4, kShare = 0.9;
    const double k = weir_factor(kBore), full_m = std::pow(kRate / k, 2.0 / 3.0), exact_lip_s = kArea * (kLip - kStart) / kRate;
    // A dh/dt = q - k h^1.5, by quadrature to nine tenths of the depth at which it stands
    const double exact_s = exact_lip_s + quadrature([&](double h) { return kArea / (kRate - k * std::pow(h, 1.5)); }, 0.0, kShare * full_m);
    Layout layout = overflowing(test::prism("T", 0.0, 1.0, kArea, kStart), kBore, kLip);
    layout.vessels[0].rim_m = kLip + kShare * full_m;  // the rim tells when
    layout.vessels[0].volume = layout::prism_volume(kArea, kLip + kShare * full_m);
    const auto course = poured(layout, kRate, 1.01 * exact_s);
    CHECK(std::abs(first_of(course, Happening::reaches_lip, "T") - exact_lip_s) < kEvent_s);
    CHECK(first_of(course, Happening::reaches_rim, "T") == Approx(exact_s).epsilon(0.1 * kPromised));
    CHECK(course.vessels[0].first_spill_s == first_of(course, Happening::reaches_rim, "T"));
}

TEST_CASE("a constant inflow against a hole: the closed form with its logarithm") {
    // A dh/dt = q - k sqrt(h): t = 2 A/k^2 (q ln(q/(q - k sqrt h)) - k sqrt h)
    constexpr double kArea = 0.8, kHole = 0.012, kRate = 2e-4, kTo = 0.35;
    const double k = 0.61 * circle_m2(kHole) * std::sqrt(2.0 * kG), root = std::sqrt(kTo);
    REQUIRE(k * root < kRate);
    const double exact_s = 2.0 * kArea / (k * k) * (kRate * std::log(kRate / (kRate - k * root)) - k * root);
    Layout layout = leaking(test::prism("T", 0.0, 1.0, kArea, 0.0), kHole);
    layout.standpipes[0].inserts[0].lip_m = kTo;  // the lip tells when
    const auto course = poured(layout, kRate, 1.1 * exact_s);
    CHECK(first_of(course, Happening::reaches_lip, "T") == Approx(exact_s).epsilon(0.1 * kPromised));
}

TEST_CASE("what runs over a rim is what came after it was full") {
    constexpr double kArea = 0.5, kRate = 1e-4, kLasts = 4000.0;
    Layout layout;
    layout.vessels = {test::prism("T", 0.0, 0.6, kArea, 0.2)};
    const auto course = poured(layout, kRate, kLasts);
    const double exact_s = kArea * 0.4 / kRate;
    CHECK(std::abs(course.vessels[0].first_spill_s - exact_s) < kEvent_s);
    CHECK(course.vessels[0].spilled_m3 == Approx(kRate * (kLasts - exact_s)).epsilon(0.1 * kPromised));
    CHECK(course.vessels[0].greatest_depth_m == Approx(0.6).epsilon(1e-9));
}

TEST_CASE("two vessels level out through a long thin pipe exponentially") {
    // laminar: z = z0 exp(-t (1/A1 + 1/A2) pi g D^4/(128 nu L))
    constexpr double kUpper = 0.6, kLower = 1.1, kBore = 0.006, kLength = 60.0, kHigh = 0.9, kLow = 0.3;
    const double resistance = 128.0 * kViscosity_m2_s * kLength / (std::numbers::pi * kG * std::pow(kBore, 4));
    const double reynolds = 4.0 * (kHigh - kLow) / resistance / (std::numbers::pi * kBore * kViscosity_m2_s);
    REQUIRE(reynolds < 1900.0);
    const double level_in_the_end = (kUpper * kHigh + kLower * kLow) / (kUpper + kLower);
    for (const double left : {0.5, 0.1, 0.01}) {  // share of the difference that is left
        const double to = level_in_the_end + left * (kHigh - level_in_the_end);
        Layout layout;
        layout.water_temperature_c = 20.0;
        layout.vessels = {telling(test::prism("A", 0.0, 1.0, kUpper, kHigh), to), test::prism("B", 0.0, 1.0, kLower, kLow)};
        layout.pipes = {test::pipe("P", "A", "B", kLength, kBore)};
        layout.pipes[0].entry_loss = layout.pipes[0].exit_loss = 0.0;
        const double exact_s = -std::log(left) * resistance / (1.0 / kUpper + 1.0 / kLower);
        CAPTURE(left);
        CHECK(falls_after_s(layout, 1.1 * exact_s) == Approx(exact_s).epsilon(0.5 * kPromised));
    }
}

TEST_CASE("two vessels level out by the square law in a finite time") {
    // the root of the difference falls evenly: t = 2 (sqrt z1 - sqrt z2)/((1/A1 + 1/A2) a sqrt(2g/K))
    constexpr double kUpper = 1.4, kLower = 0.8, kBore = 0.05, kHeads = 9.0, kHigh = 1.6, kLow = 0.4;
    const double a = circle_m2(kBore) * std::sqrt(2.0 * kG / kHeads), evenly = (1.0 / kUpper + 1.0 / kLower) * a / 2.0;
    const double level_in_the_end = (kUpper * kHigh + kLower * kLow) / (kUpper + kLower);
    for (const double left : {0.5, 0.05, 0.001}) {
        const double to = level_in_the_end + left * (kHigh - level_in_the_end), z = kHigh - kLow;
        Layout layout;
        layout.vessels = {telling(test::prism("A", 0.0, 2.0, kUpper, kHigh), to), test::prism("B", 0.0, 2.0, kLower, kLow)};
        layout.pipes = {test::loss_only("P", "A", "B", kBore, kHeads)};
        const double exact_s = (std::sqrt(z) - std::sqrt(left * z)) / evenly;
        CAPTURE(left);
        CHECK(falls_after_s(layout, 1.5 * exact_s) == Approx(exact_s).epsilon(0.1 * kPromised));
    }
}

TEST_CASE("two vessels level out through a rough pipe in the time that Colebrook's friction gives") {
    constexpr double kUpper = 2.0, kLower = 3.0, kBore = 0.05, kLength = 25.0, kRough = 2e-4, kHeads = 1.5, kHigh = 1.8, kLow = 0.3, kLeft = 0.05;
    const double a = circle_m2(kBore), level_in_the_end = (kUpper * kHigh + kLower * kLow) / (kUpper + kLower);
    const auto flow = [&](double z) {
        double x = 7.0, velocity = 0.0;  // 1/sqrt(f), and the flow that goes with it
        for (int i = 0; i < 200; ++i) {
            velocity = std::sqrt(2.0 * kG * z / (kLength / kBore / (x * x) + kHeads));
            x = -2.0 * std::log10(kRough / (3.7 * kBore) + 2.51 * x * kViscosity_m2_s / (velocity * kBore));
        }
        REQUIRE(velocity * kBore / kViscosity_m2_s > 4000.0);
        return a * velocity;
    };
    const double z = kHigh - kLow;
    const double exact_s = quadrature([&](double y) { return 1.0 / flow(y); }, kLeft * z, z) / (1.0 / kUpper + 1.0 / kLower);
    const double to = level_in_the_end + kLeft * (kHigh - level_in_the_end);
    Layout layout;
    layout.water_temperature_c = 20.0;
    layout.vessels = {telling(test::prism("A", 0.0, 2.0, kUpper, kHigh), to), test::prism("B", 0.0, 2.0, kLower, kLow)};
    layout.pipes = {test::pipe("P", "A", "B", kLength, kBore)};
    layout.pipes[0].roughness_m = kRough;  // entrance 0.5 and exit 1.0 are the rest of it
    CHECK(falls_after_s(layout, 1.5 * exact_s) == Approx(exact_s).epsilon(0.2 * kPromised));
}

namespace {

constexpr double kBedArea = 0.6, kSiphonBore = 0.04, kCrest = 0.25, kBreaks = 0.05, kSiphonLoss = 2.0;
constexpr double kTailLength = 1.5, kTailBore = 0.045, kTailRough = 1e-4, kTailEnd = -0.4;  // elevation at which the tail pours out

/// A bed with a siphon and a smooth tail that pours freely.
Layout siphon_bed(double start_m) {
    Layout layout;
    layout.water_temperature_c = 20.0;
    layout.vessels = {test::prism("BED", 0.0, 0.4, kBedArea, start_m, VesselKind::bed), test::prism("BELOW", -1.2, 1.0, 50.0, 0.0, VesselKind::sump)};
    layout::Siphon siphon;
    siphon.id = "SI";
    siphon.in_id = "BED";
    siphon.bore_m = kSiphonBore;
    siphon.crest_m = kCrest;
    siphon.breaks_at_m = kBreaks;
    siphon.starts_with_m3_s = 1e-4;
    siphon.loss = kSiphonLoss;
    layout.siphons = {siphon};
    layout.pipes = {test::pipe("TAIL", "SI", "BELOW", kTailLength, kTailBore)};
    layout.pipes[0].to.height_m = kTailEnd + 1.2;
    layout.pipes[0].roughness_m = kTailRough;
    return layout;
}

/// Full flow of the siphon: entrance 0.5 and its loss by its own bore; friction and one velocity head at the end by the tail's.
double siphon_flow(double depth_m) {
    const double head = depth_m - kTailEnd;
    double x = 7.0, flow = 0.0;
    for (int i = 0; i < 200; ++i) {
        const double up = (0.5 + kSiphonLoss) / std::pow(circle_m2(kSiphonBore), 2),
                     tail = (kTailLength / kTailBore / (x * x) + 1.0) / std::pow(circle_m2(kTailBore), 2);
        flow = std::sqrt(2.0 * kG * head / (up + tail));
        x = -2.0 * std::log10(kTailRough / (3.7 * kTailBore) + 2.51 * x * kViscosity_m2_s / (flow / circle_m2(kTailBore) * kTailBore));
    }
    return flow;
}

}  // namespace

TEST_CASE("a running siphon drains its bed in the time of the full pipe behind it") {
    for (const double inflow : {0.0, 3e-4}) {
        Layout layout = siphon_bed(0.3);
        time::Plan plan = test::plan_for(layout, {}, 3000.0);
        plan.start.primed = {1};
        time::Hose hose;
        hose.vessel = 0;
        hose.rate_m3_s = inflow;
        plan.hoses = {hose};
        const double exact_s = quadrature([&](double h) { return kBedArea / (siphon_flow(h) - inflow); }, kBreaks, 0.3);
        plan.lasts_s = 1.2 * exact_s;
        const auto course = time::Simulation(layout).run(plan);
        CAPTURE(inflow);
        CHECK(first_of(course, Happening::siphon_breaks, "SI") == Approx(exact_s).epsilon(0.2 * kPromised));
    }
}

TEST_CASE("a siphon bed's cycle: filling, dribbling until enough goes over the crest, draining") {
    constexpr double kInflow = 3e-4, kStarts = 2e-4;
    Layout layout = siphon_bed(kBreaks);
    layout.siphons[0].starts_with_m3_s = kStarts;
    // it fills evenly to the crest; over it runs the weir of its own bore until that is what starts it
    const double k = weir_factor(kSiphonBore), starts_over_m = std::pow(kStarts / k, 2.0 / 3.0);
    const double fill_s = kBedArea * (kCrest - kBreaks) / kInflow +
                          quadrature([&](double h) { return kBedArea / (kInflow - k * std::pow(h, 1.5)); }, 0.0, starts_over_m);
    const double drain_s = quadrature([&](double h) { return kBedArea / (siphon_flow(h) - kInflow); }, kBreaks, kCrest + starts_over_m);
    const auto course = poured(layout, kInflow, 3.5 * (fill_s + drain_s));
    const auto starts = times_of(course, Happening::siphon_starts, "SI"), breaks = times_of(course, Happening::siphon_breaks, "SI");
    REQUIRE(starts.size() == 3);
    REQUIRE(breaks.size() == 3);
    CHECK(starts[0] == Approx(fill_s).epsilon(0.1 * kPromised));
    CHECK(breaks[0] - starts[0] == Approx(drain_s).epsilon(0.2 * kPromised));
    REQUIRE(course.beds.size() == 1);
    CHECK(course.beds[0].fill_s == Approx(fill_s).epsilon(0.1 * kPromised));
    CHECK(course.beds[0].drain_s == Approx(drain_s).epsilon(0.2 * kPromised));
    CHECK(course.beds[0].period_s == Approx(fill_s + drain_s).epsilon(0.1 * kPromised));
    CHECK(course.beds[0].starts == 3);
    CHECK(course.beds[0].breaks == 3);
}

TEST_CASE("a siphon that runs full passes water one way: what stands higher below does not come back") {
    Layout layout = siphon_bed(0.2);
    layout.ponds.push_back({.id = "HIGH", .place = {}, .level_m = 0.35});
    layout.pipes = {test::pipe("TAIL", "SI", "HIGH", kTailLength, kTailBore)};
    time::Plan plan = test::plan_for(layout, {}, 600.0);
    plan.start.primed = {1};
    const auto course = time::Simulation(layout).run(plan);
    CHECK(course.end.volume_m3[0] == Approx(0.2 * kBedArea).epsilon(1e-9));
    CHECK(std::abs(course.ponds[0].given_m3) < 1e-9);
}

TEST_CASE("a sump that is pumped out evenly tells its least depth when it comes there, wherever its floor stands") {
    for (const double floor_m : {-3.0, 0.0, 12.0}) {
        Layout layout;
        layout.vessels = {telling(test::prism("T", floor_m, 1.0, 1.0, 0.8), 0.3)};
        layout.ponds.push_back({.id = "W", .place = {}, .level_m = floor_m + 1.0});
        test::add_steady_pump(layout, "P", "T", 1e-3, 0.05);
        layout.pipes = {test::pipe("OUT", "P", "W", 2.0, 0.05)};
        CAPTURE(floor_m);
        CHECK(falls_after_s(layout, 700.0) == Approx(500.0).epsilon(kPromised));
    }
}

TEST_CASE("of two vessels in a row that run out through slow pipes the second stands highest when and where Bateman has it") {
    // by Hagen and Poiseuille both run out in proportion to their depth; a chain of two such: H. Bateman, Proc. Cambridge Phil. Soc. 15 (1910) 423
    constexpr double kBore = 0.008, kDepth = 0.3, kUpper_m2 = 0.02, kLower_m2 = 0.05;
    constexpr double kLong_m = 40.0, kShort_m = 30.0;
    Layout layout;
    layout.water_temperature_c = 20.0;
    layout.vessels = {test::prism("UPPER", 3.0, 1.0, kUpper_m2, kDepth), test::prism("LOWER", 0.0, 3.5, kLower_m2, 0.0)};
    layout.ponds.push_back({.id = "W", .place = {}, .level_m = 0.0});
    layout.pipes = {test::pipe("ON", "UPPER", "LOWER", kLong_m, kBore), test::pipe("OUT", "LOWER", "W", kShort_m, kBore)};
    layout.pipes[0].to.height_m = 3.0;  // level with the floor above
    for (auto& pipe : layout.pipes) pipe.entry_loss = pipe.exit_loss = 0.0;
    const auto gives = [&](double length_m) { return std::numbers::pi * kG * std::pow(kBore, 4) / (128.0 * kViscosity_m2_s * length_m); };
    const double one = gives(kLong_m) / kUpper_m2, comes = gives(kLong_m) / kLower_m2, two = gives(kShort_m) / kLower_m2;
    const double at_s = std::log(one / two) / (one - two);
    const double depth_m = kDepth * comes / (one - two) * (std::exp(-two * at_s) - std::exp(-one * at_s));
    const auto course = test::follow(layout, 3.0 * at_s);
    CHECK(course.vessels[1].greatest_at_s == Approx(at_s).epsilon(5.0 * kPromised));
    CHECK(course.vessels[1].greatest_depth_m == Approx(depth_m).epsilon(kPromised));
    CHECK(course.vessels[0].least_freeboard_m == Approx(1.0 - kDepth).epsilon(1e-9));
    CHECK(course.vessels[1].least_freeboard_m == Approx(3.5 - depth_m).epsilon(kPromised));
}

TEST_CASE("a siphon that is found primed below its break height breaks at once and takes nothing") {
    Layout layout = siphon_bed(0.6 * kBreaks);
    time::Plan plan = test::plan_for(layout, {}, 600.0);
    plan.start.primed = {1};
    const auto course = time::Simulation(layout).run(plan);
    CHECK(first_of(course, Happening::siphon_breaks, "SI") == 0.0);
    CHECK(course.end.volume_m3[0] == Approx(0.6 * kBreaks * kBedArea).epsilon(1e-9));
}

TEST_CASE("of a draw that is cut off half way half was wanted, and taken") {
    Layout layout;
    layout.vessels = {test::prism("A", 0.0, 1.0, 2.0, 0.8), test::prism("B", 0.0, 1.0, 2.0, 0.1)};
    layout::Routine routine;
    routine.draws = {test::draw("A", "B", 0.2, 0.0, 100.0, layout::kNotSaid)};
    const auto course = test::follow(layout, 50.0, routine);
    CHECK(course.draws[0].wanted_m3 == Approx(0.1).epsilon(1e-6));
    CHECK(course.draws[0].taken_m3 == Approx(0.1).epsilon(1e-6));
}

TEST_CASE("a level that a dying inflow lifts while a draw or a plant takes evenly turns when the two are equal") {
    constexpr double kBore = 0.008, kDepth = 0.3, kUpper_m2 = 0.02, kLower_m2 = 0.05, kLong_m = 40.0, kStart = 0.5;
    const double gives = std::numbers::pi * kG * std::pow(kBore, 4) / (128.0 * kViscosity_m2_s * kLong_m);  // per m of depth (Hagen and Poiseuille)
    const double takes_m3_s = 0.5 * gives * kDepth, turns_s = std::log(2.0) * kUpper_m2 / gives;
    const double greatest_m = kStart + (0.5 * kUpper_m2 * kDepth - takes_m3_s * turns_s) / kLower_m2;
    for (const bool draws : {true, false}) {
        Layout layout;
        layout.water_temperature_c = 20.0;
        layout.vessels = {test::prism("UPPER", 3.0, 1.0, kUpper_m2, kDepth), test::prism("LOWER", 0.0, 3.5, kLower_m2, kStart)};
        layout.pipes = {test::pipe("ON", "UPPER", "LOWER", kLong_m, kBore)};
        layout.pipes[0].to.height_m = 3.0;
        layout.pipes[0].entry_loss = layout.pipes[0].exit_loss = 0.0;
        layout::Routine routine;
        layout::Uptake uptake;
        uptake.from_id = "LOWER";
        uptake.rate_m3_s = takes_m3_s;
        if (draws)
            routine.draws = {test::draw("LOWER", "", takes_m3_s * 1e5, 0.0, 1e5)};
        else
            routine.uptakes = {uptake};
        const auto course = test::follow(layout, 2.0 * turns_s, routine);
        CAPTURE(draws);
        CHECK(course.vessels[1].greatest_at_s == Approx(turns_s).epsilon(5.0 * kPromised));
        CHECK(course.vessels[1].greatest_depth_m == Approx(greatest_m).epsilon(0.1 * kPromised));
    }
}

TEST_CASE("a hose closes in proportion over the last 20 mm: its depth dies away to where it ends, and what ran is what is there") {
    constexpr double kRate = 2e-4, kEnds = 0.4, kBand = 0.02, kStart = 0.3;
    Layout layout;
    layout.vessels = {test::prism("T", -2.0, 1.0, 1.5, kStart)};
    const double full_s = 1.5 * (kEnds - kBand - kStart) / kRate, dies_s = 1.5 * kBand / kRate;
    time::Plan plan = test::plan_for(layout, {}, full_s + dies_s);
    time::Hose hose;
    hose.vessel = 0;
    hose.rate_m3_s = kRate;
    hose.up_to_depth_m = kEnds;
    plan.hoses = {hose};
    const auto course = time::Simulation(layout).run(plan);
    CHECK(course.end.volume_m3[0] == Approx(1.5 * (kEnds - kBand * std::exp(-1.0))).epsilon(0.1 * kPromised));
    CHECK(std::abs(course.hoses_m3[0] - (course.end.volume_m3[0] - 1.5 * kStart)) < 1e-9);
    CHECK(course.worst_water_error_m3 < 1e-9);
}
