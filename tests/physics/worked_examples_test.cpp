// Published systems of one path: friction, fittings and a lift added up by hand from the laws of this room. Inputs in the examples' own
// units; tolerances as the charts behind the published figures allow. "by library" = quoted in the notebooks of library fluids 1.3.1.

#include "solver/physics/constants.h"
#include "solver/physics/fittings.h"
#include "solver/physics/friction.h"
#include "solver/physics/value_slope.h"
#include "tests/near.h"
#include "tests/physics/support.h"

#include <array>
#include <functional>

using namespace ebb::physics;
using namespace ebb::physics::test;

namespace {

double fitting_loss(double K, double bore_m, double flow_m3_s) {
    return local_loss(K * velocity_head_coefficient(bore_area_m2(bore_m)), flow_m3_s).value;
}

/// Friction with the factor the example fixes.
double fixed_friction(double factor, double length_m, double bore_m, double flow_m3_s) {
    return fitting_loss(factor * length_m / bore_m, bore_m, flow_m3_s);
}

/// Flow at which a rising loss reaches a head.
double flow_for(double head_m, const std::function<double(double)>& loss_m) {
    double low = 0.0;
    double high = 10.0;
    for (int i = 0; i < 100; ++i) {
        const double middle = 0.5 * (low + high);
        (loss_m(middle) < head_m ? low : high) = middle;
    }
    return low;
}

double darcy(const DarcyPipeFacts& facts, double flow_m3_s) { return darcy_loss(make_darcy_pipe(facts), flow_m3_s).value; }

}  // namespace

TEST_CASE("two iron pipes in series between reservoirs") {
    // Public university tutorial (as Hwang and Hita, ch. 4): 300 m of 0.6 m and 300 m of 0.4 m, 0.26 mm, 0.5 m3/s at 10 degC, entrance 0.5,
    // contraction 0.24, exit 1: 13.337 m lost with chart factors. 0.3 %.
    const double flow = 0.5;
    const double loss = fitting_loss(kEntryLoss, 0.6, flow) + darcy({300.0, 0.6, 0.26e-3, 1.31e-6}, flow) + fitting_loss(0.24, 0.4, flow) +
                        darcy({300.0, 0.4, 0.26e-3, 1.31e-6}, flow) + fitting_loss(kExitLoss, 0.4, flow);
    CHECK(loss == ebb::test::near(13.337).epsilon(0.003));
}

TEST_CASE("a gravity line from reservoir to reservoir") {
    // Cengel and Cimbala ex. 8-9 (from memory): 89 m of 5 cm cast iron, 6 l/s at 10 degC, K 2.36: 27.9 m. 0.4 %.
    const double loss = darcy({89.0, 0.05, 0.26e-3, 1.307e-3 / 999.7}, 6e-3) + fitting_loss(2.36, 0.05, 6e-3);
    CHECK(loss == ebb::test::near(27.9).epsilon(0.004));
}

TEST_CASE("pump heads") {
    // White ex. 6.16 (from memory): 0.2 ft3/s from 20 to 120 ft through 400 ft of 2 in, e/d 0.001, K 12.2, nu 1.1e-5 ft2/s: 184 ft. 0.5 %.
    const double bore = 2.0 * kInch_m;
    const double flow = 0.2 * kFoot3_m3;
    const double head_ft =
        100.0 + (darcy({400.0 * kFoot_m, bore, 1e-3 * bore, 1.1e-5 * kFoot_m * kFoot_m}, flow) + fitting_loss(12.2, bore, flow)) / kFoot_m;
    CHECK(head_ft == ebb::test::near(184.0).epsilon(0.005));
    // Crane TP-410 ex. 7-15 (by library): 100 gpm, 62.298 lb/ft3, 0.95 cP, 500 ft of 3.068 in steel (0.0018 in), four elbows 30 fT, gate 8 fT,
    // lift check of K 26.33, exit, fT 0.018, lift 400 ft: 421 ft. 0.3 %.
    const double three = 3.068 * kInch_m;
    const double gpm = 100.0 * kGpm_m3_s;
    const double nu = 0.95e-3 / (62.298 * kPoundPerFoot3_kg_m3);
    const double K = (4.0 * 30.0 + 8.0) * 0.018 + 26.33 + kExitLoss;
    const double lift_ft = 400.0 + (darcy({500.0 * kFoot_m, three, 0.0018 * kInch_m, nu}, gpm) + fitting_loss(K, three, gpm)) / kFoot_m;
    CHECK(lift_ft == ebb::test::near(421.0).epsilon(0.003));
    // Crane ex. 7-14 (by library): 22 m and 1500 l/min through 34 m of 102.3 mm and 67 m of 128.2 mm with two bends of 14 fT, f 0.018: 2.6 bar.
    const double q = 1.5 / 60.0;
    const double pressure_m =
        22.0 + fixed_friction(0.018, 34.0, 0.1023, q) + fixed_friction(0.018, 67.0, 0.1282, q) + fitting_loss(2.0 * 14.0 * 0.016, 0.1282, q);
    CHECK(pressure_m * 998.0 * kGravity_m_s2 / 1e5 == ebb::test::near(2.6).epsilon(0.02));
}

TEST_CASE("flows under a given head") {
    // Crane ex. 7-6 (by library): 7 m over 60 m of 77.9 mm, f = fT = 0.017, sharp entrance, six elbows 30 fT, valve 0.59, exit: 781 l/min. 0.6 %.
    const double l_min =
        6e4 * flow_for(7.0, [](double flow) {
            return fixed_friction(0.017, 60.0, 0.0779, flow) + fitting_loss(kEntryLoss + 6.0 * 30.0 * 0.017 + 0.59 + kExitLoss, 0.0779, flow);
        });
    CHECK(l_min == ebb::test::near(781.0).epsilon(0.006));
    // Crane ex. 7-19 (by library): 11.5 ft, entrance, mitre 60 fT, gate 8 fT, 10 ft of 3.068 in, sudden contraction, 20 ft of 2.067 in, exit,
    // fT 0.018 and 0.019, steel 0.0018 in, water at 60 degF: 137 gpm (139.2 with true bores). 2 %.
    const double nu = 1.217e-5 * kFoot_m * kFoot_m;
    const double three = 3.068 * kInch_m;
    const double two = 2.067 * kInch_m;
    const double gpm = flow_for(11.5 * kFoot_m,
                                [&](double flow) {
                                    return fitting_loss(kEntryLoss + 68.0 * 0.018, three, flow) +
                                           darcy({10.0 * kFoot_m, three, 0.0018 * kInch_m, nu}, flow) +
                                           fitting_loss(sudden_contraction_loss(two / three), two, flow) +
                                           darcy({20.0 * kFoot_m, two, 0.0018 * kInch_m, nu}, flow) + fitting_loss(kExitLoss, two, flow);
                                }) /
                       kGpm_m3_s;
    CHECK(gpm == ebb::test::near(137.0).epsilon(0.02));
    // GATE 2019 civil engineering, shift 1: siphon of 0.10 m, 5000 m, f 0.02, levels 5 m apart: 2.46e-3 m3/s.
    const double siphon = flow_for(5.0, [](double flow) { return fixed_friction(0.02, 5000.0, 0.10, flow); });
    CHECK(siphon == ebb::test::near(2.46e-3).epsilon(0.001));
}

TEST_CASE("a large hot-water main, read from the chart") {
    // DOE-HDBK-1012/3-92 (from memory; the printed viscosity is far below water's and kept as printed): 700 lbm/s, 60 lbm/ft3, 1.978e-7 lbf s/ft2,
    // 100 ft of 20 in, e/D 0.00008: V 5.35 ft/s, Re 8.4e7, f 0.012 (chart), 0.32 ft. 5 %.
    const double bore = 20.0 * kInch_m;
    const double flow = 700.0 / 60.0 * kFoot3_m3;
    const double nu = 1.978e-7 * 32.174 / 60.0 * kFoot_m * kFoot_m;
    const DarcyPipe pipe = make_darcy_pipe({100.0 * kFoot_m, bore, 8e-5 * bore, nu});
    CHECK(flow / pipe.area_m2 / kFoot_m == ebb::test::near(5.35).epsilon(0.001));
    CHECK(pipe.reynolds_per_flow * flow == ebb::test::near(8.4e7).epsilon(0.002));
    CHECK(darcy_friction_factor(pipe, flow) == ebb::test::near(0.012).epsilon(0.05));
    CHECK(darcy_loss(pipe, flow).value / kFoot_m == ebb::test::near(0.32).epsilon(0.05));
}

TEST_CASE("Hazen-Williams against a university course table of class 160 pipe") {
    // psi per 100 ft at C 150 and 62.37 lb/ft3, with velocities in ft/s (seen); printed with two decimals. 2.2 %.
    struct Entry {
        double bore_in, gpm, velocity_ft_s, loss_psi;
    };
    const std::array<Entry, 6> entries{{{1.195, 10, 2.85, 1.27},
                                        {1.195, 40, 11.42, 16.59},
                                        {2.193, 40, 3.39, 0.86},
                                        {2.193, 100, 8.48, 4.72},
                                        {3.230, 100, 3.91, 0.72},
                                        {4.154, 200, 4.72, 0.76}}};
    for (const Entry& entry : entries) {
        CAPTURE(entry.bore_in);
        CAPTURE(entry.gpm);
        const double flow = entry.gpm * kGpm_m3_s;
        const HazenPipe pipe = make_hazen_pipe({100.0 * kFoot_m, entry.bore_in * kInch_m, 150.0});
        const double psi = hazen_williams_loss(pipe, flow).value * 62.37 * kPoundPerFoot3_kg_m3 * kGravity_m_s2 / kPsi_pa;
        CHECK(flow / pipe.area_m2 / kFoot_m == ebb::test::near(entry.velocity_ft_s).epsilon(0.005));
        CHECK(psi == ebb::test::near(entry.loss_psi).epsilon(0.022));
    }
}
