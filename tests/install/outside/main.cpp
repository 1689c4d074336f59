// Uses the installed library as any other project would: two tanks, one thin pipe, and the flow between them against the
// Hagen-Poiseuille law, Q = pi D^4 g dH / (128 nu L) (laminar: Re about 600), at 20 degC, nu = 1.0034e-6 m2/s
// (IAPWS SR6-08(2011), 0.1 MPa). Entrance and exit losses are said to be nothing, so that friction is all there is.
#include <cmath>
#include <cstdio>

#include "solver/layout/layout.h"
#include "solver/layout/validate.h"
#include "solver/settle/farm.h"
#include "solver/version.h"

using namespace ebb;

static layout::Vessel tank(const char* id, double depth_m) {
    layout::Vessel vessel;
    vessel.id = id;
    vessel.floor_m = 0.0;
    vessel.rim_m = 2.0;
    vessel.volume = {{0.0, 0.0}, {2.0, 2.0}};
    vessel.plan_area_m2 = 1.0;
    vessel.start_depth_m = depth_m;
    return vessel;
}

int main() {
    const double bore_m = 0.010, length_m = 10.0, fall_m = 0.020;

    layout::Layout farm_layout;
    farm_layout.vessels = {tank("HIGH", 1.0 + fall_m), tank("LOW", 1.0)};
    layout::Pipe pipe;
    pipe.id = "between";
    pipe.from.id = "HIGH";
    pipe.to.id = "LOW";
    pipe.length_m = length_m;
    pipe.bore_m = bore_m;
    pipe.roughness_m = 1.5e-6;
    pipe.entry_loss = pipe.exit_loss = 0.0;
    farm_layout.pipes = {pipe};
    layout::Arrangement drawn;
    drawn.name = "at the drawn levels";
    drawn.at_start_levels = true;
    farm_layout.arrangements = {drawn};

    for (const layout::Problem& problem : layout::validate(farm_layout)) {
        std::printf("%s: %s (%s)\n", problem.about.c_str(), problem.says.c_str(), problem.advice.c_str());
        return 1;
    }
    settle::Farm farm(farm_layout);
    const settle::Answer answer = farm.solve(0);
    const double pi = std::acos(-1.0);
    const double expected_m3_s = pi * std::pow(bore_m, 4) * 9.80665 * fall_m / (128.0 * 1.0034e-6 * length_m);
    const double got_m3_s = answer.pipes.at(0).flow_m3_s;
    std::printf("Ebbwright %s: %s, %.6g m3/s, expected %.6g m3/s\n", kVersion, settle::name_of(answer.state), got_m3_s, expected_m3_s);
    return settle::solved(answer.state) && std::abs(got_m3_s / expected_m3_s - 1.0) < 1e-3 ? 0 : 1;
}
