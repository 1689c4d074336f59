#include "solver/physics/constants.h"
#include "solver/physics/fittings.h"
#include "solver/physics/friction.h"
#include "tests/near.h"
#include "tests/physics/support.h"

#include <algorithm>
#include <array>
#include <numbers>

using namespace ebb::physics;
using namespace ebb::physics::test;

namespace {

/// Colebrook's equation solved by bisection in long double: slow and independent of the code under test.
double reference_friction_factor(double reynolds, double relative_roughness) {
    long double low = 0.01L;
    long double high = 100.0L;
    for (int i = 0; i < 90; ++i) {
        const long double middle = 0.5L * (low + high);
        const long double residual =
            middle + 2.0L * std::log10(static_cast<long double>(relative_roughness) / 3.7L + 2.51L * middle / static_cast<long double>(reynolds));
        (residual > 0.0L ? high : low) = middle;
    }
    return static_cast<double>(1.0L / (low * low));
}

/// A PVC pipe of the examples' size at 20 degC.
DarcyPipe pipe_of(double bore_m, double roughness_m) {
    return make_darcy_pipe({.length_m = 10.0, .bore_m = bore_m, .roughness_m = roughness_m, .kinematic_viscosity_m2_s = 1.003e-6});
}

double flow_at(const DarcyPipe& pipe, double reynolds) { return reynolds / pipe.reynolds_per_flow; }

constexpr std::array kRoughness{0.0, 1.5e-6, 1e-4, 2.5e-3};
constexpr std::array kBores{0.012, 0.05, 0.3};

/// Head loss over velocity head and so on for the worked examples.
double velocity(const DarcyPipe& pipe, double flow_m3_s) { return flow_m3_s / pipe.area_m2; }

}  // namespace

TEST_CASE("Colebrook's factor over the published grid") {
    // tests/reference/friction_factor.csv: solved in 50 digits, printed with 10.
    int seen = 0;
    for (const Row& row : table("friction_factor.csv", "regime,Re")) {
        if (row[0] == "turbulent_colebrook") {
            CAPTURE(row[1]);
            CAPTURE(row[2]);
            CHECK(relative(colebrook_friction_factor(number(row[1]), number(row[2])), number(row[3])) < 6e-10);
            ++seen;
        }
    }
    CHECK(seen > 600);
}

TEST_CASE("Colebrook's factor to rounding error, from 4000 to 1e9 and over all roughness") {
    double worst = 0.0;
    for (const double reynolds : spread(4e3, 1e9, 200)) {
        for (const double roughness : {0.0, 1e-8, 1e-6, 1e-5, 1e-4, 5e-4, 2e-3, 1e-2, 5e-2}) {
            worst = std::max(worst, relative(colebrook_friction_factor(reynolds, roughness), reference_friction_factor(reynolds, roughness)));
        }
    }
    CHECK(worst < 2e-15);
}

TEST_CASE("a reading of the Moody chart") {
    // L. F. Moody, Trans. ASME 66 (1944) 671 (from memory): Re 1e5, k/D 1e-4: 0.0185.
    CHECK(colebrook_friction_factor(1e5, 1e-4) == ebb::test::near(0.0185).epsilon(0.002));
}

TEST_CASE("laminar flow is Hagen-Poiseuille, h = 128 nu L Q/(pi g D^4)") {
    const DarcyPipe pipe = pipe_of(0.02, 0.0);
    for (const double reynolds : {1e-6, 1.0, 500.0, 1999.0}) {
        const double flow = flow_at(pipe, reynolds);
        const double exact = 128.0 * 1.003e-6 * 10.0 * flow / (std::numbers::pi * kGravity_m_s2 * std::pow(0.02, 4));
        CHECK(relative(darcy_loss(pipe, flow).value, exact) < 1e-14);
        CHECK(relative(darcy_friction_factor(pipe, flow), 64.0 / reynolds) < 1e-14);
    }
    CHECK(darcy_loss(pipe, 0.0).value == 0.0);
    CHECK(darcy_loss(pipe, 0.0).slope > 0.0);
}

TEST_CASE("between Re 2000 and 4000 the cubic takes value and slope of both laws and no more") {
    for (const double roughness : kRoughness) {
        const DarcyPipe pipe = pipe_of(0.05, roughness);
        for (const double end : {kLaminarReynolds, kTurbulentReynolds}) {
            const ValueSlope below = darcy_loss(pipe, flow_at(pipe, end * (1.0 - 1e-12)));
            const ValueSlope above = darcy_loss(pipe, flow_at(pipe, end * (1.0 + 1e-12)));
            CHECK(relative(below.value, above.value) < 1e-11);
            CHECK(relative(below.slope, above.slope) < 1e-10);
        }
        // A cubic's fourth difference is nothing: f Re^2 is h over its scale.
        std::array<double, 5> h{};
        for (std::size_t i = 0; i < 5; ++i) {
            h[i] = darcy_loss(pipe, flow_at(pipe, 2200.0 + 400.0 * static_cast<double>(i))).value;
        }
        CHECK(std::abs(h[0] - 4 * h[1] + 6 * h[2] - 4 * h[3] + h[4]) < 1e-13 * h[4]);
    }
}

TEST_CASE("the friction factor is the loss over T Q|Q|, at every Reynolds number") {
    for (const double roughness : kRoughness) {
        const double bore = 0.05, area = bore_area_m2(bore);
        const DarcyPipe pipe = pipe_of(bore, roughness);
        const double per_length = make_darcy_pipe({bore, bore, roughness * bore, 1e-6}).turbulent_m_per_m6_s2;
        CHECK(relative(per_length, 1.0 / (2.0 * kGravity_m_s2 * area * area)) < 1e-14);
        for (const double reynolds : {10.0, 1999.0, 2001.0, 2100.0, 2299.0, 2500.0, 3000.0, 3999.0, 4001.0, 1e5}) {
            const double flow = flow_at(pipe, reynolds);
            REQUIRE(relative(darcy_friction_factor(pipe, flow) * pipe.turbulent_m_per_m6_s2 * flow * flow, darcy_loss(pipe, flow).value) < 1e-13);
            REQUIRE(darcy_friction_factor(pipe, -flow) == darcy_friction_factor(pipe, flow));
        }
    }
}

TEST_CASE("the loss rises with the flow, is odd, and has the slope it says") {
    double worst = 0.0;
    for (const double bore : kBores) {
        for (const double roughness : kRoughness) {
            const DarcyPipe pipe = pipe_of(bore, std::min(roughness, 0.05 * bore));
            double last = 0.0;
            for (const double reynolds : spread(1e-3, 1e8, 2000)) {
                const double flow = flow_at(pipe, reynolds);
                const ValueSlope loss = darcy_loss(pipe, flow);
                REQUIRE(loss.value > last);
                REQUIRE(loss.slope > 0.0);
                REQUIRE(darcy_loss(pipe, -flow).value == -loss.value);
                REQUIRE(darcy_loss(pipe, -flow).slope == loss.slope);
                last = loss.value;
                const bool at_joint = std::abs(reynolds / 2000.0 - 1.0) < 3e-3 || std::abs(reynolds / 4000.0 - 1.0) < 3e-3;
                if (!at_joint) {
                    worst = std::max(worst, slope_error([&](double q) { return darcy_loss(pipe, q); }, flow));
                }
            }
        }
    }
    CHECK(worst < 1e-9);
}

TEST_CASE("a cached start gives the same loss to 1e-14, however far the flow has moved") {
    double worst = 0.0;
    for (const double roughness : kRoughness) {
        const DarcyPipe pipe = pipe_of(0.05, roughness);
        for (const double before : spread(4.1e3, 1e8, 40)) {
            for (const double after : spread(4.1e3, 1e8, 40)) {
                double cache = 0.0;
                darcy_loss(pipe, flow_at(pipe, before), cache);
                REQUIRE(cache > 0.0);
                const ValueSlope warm = darcy_loss(pipe, flow_at(pipe, after), cache);
                const ValueSlope cold = darcy_loss(pipe, flow_at(pipe, after));
                worst = std::max({worst, relative(warm.value, cold.value), relative(warm.slope, cold.slope)});
            }
        }
        for (const double nonsense : {1e-12, 1e-6, 1e-3, 0.5, 30.0, 1e3, 1e6, 1e12}) {  // a cache no pipe ever had
            for (const double reynolds : {4.1e3, 5e4}) {
                double cache = nonsense;
                const double flow = flow_at(pipe, reynolds);
                const double off = relative(darcy_loss(pipe, flow, cache).value, darcy_loss(pipe, flow).value);
                REQUIRE(off == off);
                worst = std::max(worst, off);
            }
        }
    }
    CHECK(worst < 1e-14);
}

TEST_CASE("published examples of pipe friction") {
    // White, Fluid Mechanics, ex. 6.7: oil, 0.2 m3/s in 500 m of 200 mm cast iron 0.26 mm: f 0.0225, hf 117 m (chart). 1 %.
    const DarcyPipe iron = make_darcy_pipe({500.0, 0.2, 0.26e-3, 1e-5});
    CHECK(darcy_friction_factor(iron, 0.2) == ebb::test::near(0.0225).epsilon(0.01));
    CHECK(darcy_loss(iron, 0.2).value == ebb::test::near(117.0).epsilon(0.01));
    // White ex. 6.9 (from memory): 30 cm, 100 m, e/d 0.0002, nu 2e-5, 8 m lost at 0.342 m3/s, f 0.0201.
    const DarcyPipe oil = make_darcy_pipe({100.0, 0.3, 0.06e-3, 2e-5});
    CHECK(darcy_loss(oil, 0.342).value == ebb::test::near(8.0).epsilon(0.004));
    CHECK(darcy_friction_factor(oil, 0.342) == ebb::test::near(0.0201).epsilon(0.002));
    // White ex. 6.18 (from memory): 20.3 m lost in each of three parallel pipes at 62.5, 25.9 and 11.4 m3/h, nu 1.02e-6. 0.3 % in flow.
    const std::array lines{std::array{100.0, 0.08, 0.003, 62.5}, std::array{150.0, 0.06, 0.002, 25.9}, std::array{80.0, 0.04, 0.005, 11.4}};
    for (const auto& [length, bore, roughness, m3_h] : lines) {
        const DarcyPipe pipe = make_darcy_pipe({length, bore, roughness * bore, 1.02e-6});
        CHECK(darcy_loss(pipe, m3_h / 3600.0).value == ebb::test::near(20.3).epsilon(0.006));
    }
    // Cengel and Cimbala ex. 8-3 (from memory): 0.2 ft3/s of water in 200 ft of 2 in stainless pipe: f 0.0174, 27.3 ft.
    const DarcyPipe steel = make_darcy_pipe({200.0 * kFoot_m, 2.0 * kInch_m, 7e-6 * kFoot_m, 7.536e-4 / 62.36 * kFoot_m * kFoot_m});
    CHECK(darcy_friction_factor(steel, 0.2 * kFoot3_m3) == ebb::test::near(0.0174).epsilon(0.003));
    CHECK(darcy_loss(steel, 0.2 * kFoot3_m3).value / kFoot_m == ebb::test::near(27.3).epsilon(0.003));
    CHECK(velocity(steel, 0.2 * kFoot3_m3) / kFoot_m == ebb::test::near(9.17).epsilon(0.001));
    // Cengel ex. 8-8: 4 and 8 cm commercial steel, 36 m, 0.00415 and 0.0259 m3/s: 11.1 m in either, f 0.0221 and 0.0182.
    const DarcyPipe four = make_darcy_pipe({36.0, 0.04, 0.045e-3, 1.002e-3 / 998.0});
    const DarcyPipe eight = make_darcy_pipe({36.0, 0.08, 0.045e-3, 1.002e-3 / 998.0});
    CHECK(darcy_loss(four, 0.00415).value == ebb::test::near(11.1).epsilon(0.01));
    CHECK(darcy_loss(eight, 0.0259).value == ebb::test::near(11.1).epsilon(0.01));
    CHECK(darcy_friction_factor(four, 0.00415) == ebb::test::near(0.0221).epsilon(0.005));
    CHECK(darcy_friction_factor(eight, 0.0259) == ebb::test::near(0.0182).epsilon(0.005));
    // Crane TP-410 ex. 7-1 (by library fluids 1.3.1): 200 l/min of water at 30 degC in 52.5 mm smooth pipe: f 0.0179. 0.5 %.
    const DarcyPipe plastic = make_darcy_pipe({1.0, 0.0525, 0.0, 8.007e-7});
    CHECK(darcy_friction_factor(plastic, 0.2 / 60.0) == ebb::test::near(0.0179).epsilon(0.005));
    // Crane ex. 7-13: fuel oil 2.7 cSt, 2 gal/s in 100 ft of 2.067 in steel (0.0018 in): f 0.0230, 9.65 psi at SG 0.815. 1.5 %.
    const DarcyPipe fuel = make_darcy_pipe({100.0 * kFoot_m, 2.067 * kInch_m, 0.0018 * kInch_m, 2.7e-6});
    CHECK(darcy_friction_factor(fuel, 2.0 * kGallon_m3) == ebb::test::near(0.0230).epsilon(0.015));
    CHECK(darcy_loss(fuel, 2.0 * kGallon_m3).value * 815.0 * kGravity_m_s2 / kPsi_pa == ebb::test::near(9.65).epsilon(0.015));
}

TEST_CASE("Hazen-Williams against a published table of schedule 40 plastic pipe, C = 150") {
    // Illinois Administrative Code, title 77, part 906, appendix A, exhibit I: ft per 100 ft at gpm; bores in inches. It prints 0.01 ft.
    struct Entry {
        double bore_in, gpm, loss_ft;
    };
    const std::array<Entry, 27> entries{
        {{1.049, 1, 0.07},   {1.049, 5, 1.52},   {1.049, 10, 5.50},  {1.380, 5, 0.39},   {1.380, 10, 1.46},  {1.380, 20, 5.23},  {1.610, 10, 0.70},
         {1.610, 20, 2.46},  {1.610, 30, 5.22},  {2.067, 10, 0.21},  {2.067, 20, 0.74},  {2.067, 30, 1.54},  {2.067, 50, 3.98},  {3.068, 20, 0.12},
         {3.068, 50, 0.58},  {3.068, 100, 2.09}, {4.026, 50, 0.16},  {4.026, 100, 0.55}, {4.026, 150, 1.17}, {6.065, 100, 0.07}, {6.065, 200, 0.28},
         {6.065, 300, 0.58}, {6.065, 400, 0.99}, {6.065, 450, 1.22}, {7.981, 200, 0.07}, {7.981, 400, 0.26}, {7.981, 700, 0.72}}};
    for (const Entry& entry : entries) {
        CAPTURE(entry.bore_in);
        CAPTURE(entry.gpm);
        const HazenPipe pipe = make_hazen_pipe({100.0 * kFoot_m, entry.bore_in * kInch_m, 150.0});
        const double loss_ft = hazen_williams_loss(pipe, entry.gpm * kGpm_m3_s).value / kFoot_m;
        CHECK(std::abs(loss_ft - entry.loss_ft) < std::max(0.019, 0.012 * entry.loss_ft));
    }
}

TEST_CASE("Hazen-Williams: joined in value and slope at 1 mm/s, rising, odd, with the slope it says") {
    const HazenPipe pipe = make_hazen_pipe({25.0, 0.05, 150.0});
    const double joint = 1e-3 * bore_area_m2(0.05);
    const ValueSlope below = hazen_williams_loss(pipe, joint * (1.0 - 1e-13));
    const ValueSlope above = hazen_williams_loss(pipe, joint * (1.0 + 1e-13));
    CHECK(relative(below.value, above.value) < 1e-12);
    CHECK(relative(below.slope, above.slope) < 1e-12);
    // Above the joint, and at once, the formula itself, written out.
    for (const double flow : {1.01 * joint, 2.0 * joint, 2e-3})
        CHECK(relative(hazen_williams_loss(pipe, flow).value,
                       10.67 * 25.0 * std::pow(flow, 1.852) / (std::pow(150.0, 1.852) * std::pow(0.05, 4.8704))) < 1e-14);
    CHECK(hazen_williams_loss(pipe, 0.0).slope > 0.0);
    double worst = 0.0;
    double last = 0.0;
    for (const double flow : spread(1e-10, 1.0, 1000)) {
        const ValueSlope loss = hazen_williams_loss(pipe, flow);
        REQUIRE(loss.value > last);
        REQUIRE(hazen_williams_loss(pipe, -flow).value == -loss.value);
        last = loss.value;
        if (std::abs(flow / joint - 1.0) > 3e-3) {
            worst = std::max(worst, slope_error([&](double q) { return hazen_williams_loss(pipe, q); }, flow));
        }
    }
    CHECK(worst < 1e-9);
}
