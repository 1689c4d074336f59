// The arithmetic of eight numbers at once: logarithm and exponential against the standard library's in extended precision, on every set of
// instructions that this processor has and with the same digits on all of them; friction against the published equation's solutions in 50 digits
// (tests/reference/friction_factor.csv) and against the scalar law.

#include <doctest/doctest.h>

#include <charconv>
#include <cmath>
#include <cstring>
#include <fstream>
#include <string>
#include <vector>

#include "solver/physics/eight_friction.h"
#include "solver/physics/friction.h"
#include "solver/survey/lane_data.h"
#include "solver/survey/lane_setup.h"
#include "solver/survey/lane_solver.h"

namespace {

using namespace ebb;
using survey::kLanes;
using survey::LaneSolver;
using survey::Line;

/// SplitMix64 (Steele, Lea, Flood 2014), spread between two numbers.
class Spread {
public:
    double operator()(double low, double high) {
        std::uint64_t z = (state_ += 0x9e3779b97f4a7c15ULL);
        z = (z ^ (z >> 30U)) * 0xbf58476d1ce4e5b9ULL;
        z = (z ^ (z >> 27U)) * 0x94d049bb133111ebULL;
        return low + (high - low) * static_cast<double>((z ^ (z >> 31U)) >> 11U) * 0x1p-53;
    }

private:
    std::uint64_t state_ = 7;
};

std::vector<survey::LaneKernels> kernels_here() {
    std::vector<survey::LaneKernels> kernels{survey::lane_kernels_baseline()};
    if (LaneSolver::has(LaneSolver::Instructions::avx2)) kernels.push_back(survey::lane_kernels_avx2());
    if (LaneSolver::has(LaneSolver::Instructions::avx512)) kernels.push_back(survey::lane_kernels_avx512());
    return kernels;
}

double ulp(double value) { return std::nextafter(std::abs(value), HUGE_VAL) - std::abs(value); }

/// Function `which` of `x` on every set of instructions: the worst error in ulps, and whether all digits agree.
void judge(int which, const Line& x, double& worst, bool& same) {
    Line first{};
    survey::lane_kernels_baseline().function(which, x, first);
    for (const survey::LaneKernels& kernels : kernels_here()) {
        Line y{};
        kernels.function(which, x, y);
        same = same && std::memcmp(&y, &first, sizeof y) == 0;
    }
    for (int lane = 0; lane < kLanes; ++lane) {
        const long double at = x.lane[lane], exact = which == 0 ? std::log(at) : std::exp(at);
        worst = std::max(worst, static_cast<double>(std::abs(first.lane[lane] - exact)) / ulp(static_cast<double>(exact)));
    }
}

physics::DarcyPipe pipe_of(double bore_m, double relative_roughness) {
    return physics::make_darcy_pipe(
        {.length_m = 10.0, .bore_m = bore_m, .roughness_m = relative_roughness * bore_m, .kinematic_viscosity_m2_s = 1e-6});
}

}  // namespace

TEST_CASE("logarithm and exponential to 2 ulp, the same digits on every set of instructions") {
    Spread spread;
    double worst_ln = 0.0, worst_exp = 0.0;
    bool same = true;
    for (int i = 0; i < 4000; ++i) {
        Line x{};
        for (double& value : x.lane) value = i % 2 == 0 ? std::exp(spread(-700.0, 700.0)) : spread(0.5, 2.0);
        judge(0, x, worst_ln, same);
        for (double& value : x.lane) value = i % 2 == 0 ? spread(-700.0, 700.0) : spread(-1.0, 1.0);
        judge(1, x, worst_exp, same);
    }
    CHECK(worst_ln < 2.0);
    CHECK(worst_exp < 2.0);
    CHECK(same);
    MESSAGE("ln ", worst_ln, " ulp, exp ", worst_exp, " ulp, on ", kernels_here().size(), " sets of instructions");
}

TEST_CASE("a power to 4e-15 of itself") {
    Spread spread;
    double worst = 0.0;
    for (int i = 0; i < 4000; ++i) {
        Line x{}, y{}, z{};
        for (double& value : x.lane) value = std::exp(spread(-20.0, 20.0));
        for (double& value : y.lane) value = spread(0.0, 1.0);
        physics::store(physics::power(physics::load(x.lane), physics::load(y.lane)), z.lane);
        for (int lane = 0; lane < kLanes; ++lane) {
            const long double exact = std::pow(static_cast<long double>(x.lane[lane]), static_cast<long double>(y.lane[lane]));
            worst = std::max(worst, static_cast<double>(std::abs(z.lane[lane] / exact - 1.0L)));
        }
    }
    CHECK(worst < 4e-15);
}

TEST_CASE("the published table of friction factors, eight at a time") {
    std::ifstream file(std::string(EBB_SOURCE_DIR) + "/tests/reference/friction_factor.csv");
    int seen = 0;
    double worst = 0.0;
    for (std::string line; std::getline(file, line);) {
        if (line.rfind("turbulent_colebrook,", 0) != 0) continue;
        double number[3];
        const char* at = line.data() + line.find(',') + 1;
        for (double& value : number) at = std::from_chars(at, line.data() + line.size(), value).ptr + 1;
        if (number[0] < physics::kTurbulentReynolds) continue;
        const physics::DarcyPipe pipe = pipe_of(0.1, number[1]);
        double numbers[physics::kPipeNumbers] = {};
        survey::write_numbers(pipe, numbers);
        Line loss{};
        const double flow = number[0] / pipe.reynolds_per_flow;
        physics::Eight X = physics::every(0.0);
        physics::store(physics::darcy_loss_eight<true>(physics::SharedPipe{numbers}, physics::every(flow), physics::every(0.0), X).loss_m, loss.lane);
        for (const double each : loss.lane) worst = std::max(worst, std::abs(each / (pipe.turbulent_m_per_m6_s2 * flow * flow) / number[2] - 1.0));
        ++seen;
    }
    CHECK(seen > 500);
    CHECK(worst < 6e-10);  // the table is printed with 10 digits
}

TEST_CASE("friction of eight flows or eight pipes is the scalar law's, from any start, in all regimes") {
    Spread spread;
    double worst_loss = 0.0, worst_slope = 0.0;
    for (int i = 0; i < 4000; ++i) {
        const bool own = i % 2 == 0;
        Line flow{}, start{}, local{};
        alignas(64) double numbers[physics::kPipeNumbers * kLanes] = {};
        physics::DarcyPipe pipe[kLanes];
        for (int lane = 0; lane < kLanes; ++lane) {
            pipe[lane] = lane == 0 || own ? pipe_of(std::exp(spread(-5.0, 0.0)), i % 5 == 0 ? 0.0 : std::exp(spread(-14.0, -3.0))) : pipe[0];
            double here[physics::kPipeNumbers] = {};
            survey::write_numbers(pipe[lane], here);
            for (int k = 0; k < physics::kPipeNumbers; ++k) numbers[own ? k * kLanes + lane : k] = here[k];
            flow.lane[lane] = (i % 3 == 0 ? -1.0 : 1.0) * pipe[lane].area_m2 * std::exp(spread(-10.0, 3.0));
            start.lane[lane] = i % 7 == 0 ? 0.0 : spread(0.1, 20.0);
            local.lane[lane] = spread(0.0, 0.2) * pipe[lane].turbulent_m_per_m6_s2;
        }
        physics::Eight X = physics::load(start.lane);
        const physics::Eight q = physics::load(flow.lane), k = physics::load(local.lane);
        const physics::EightLoss found = own ? physics::darcy_loss_eight<true>(physics::OwnPipes{numbers}, q, k, X)
                                             : physics::darcy_loss_eight<true>(physics::SharedPipe{numbers}, q, k, X);
        Line loss{}, inverse{};
        physics::store(found.loss_m, loss.lane);
        physics::store(found.inverse_slope, inverse.lane);
        CHECK(physics::to_mask(found.sure) == 0xffU);
        for (int lane = 0; lane < kLanes; ++lane) {
            const double Q = flow.lane[lane], c = local.lane[lane];
            const physics::ValueSlope scalar = physics::darcy_loss(pipe[lane], Q);
            worst_loss = std::max(worst_loss, std::abs(loss.lane[lane] / (scalar.value + c * Q * std::abs(Q)) - 1.0));
            worst_slope = std::max(worst_slope, std::abs(inverse.lane[lane] * (scalar.slope + 2.0 * c * std::abs(Q)) - 1.0));
        }
    }
    CHECK(worst_loss < 1e-14);
    CHECK(worst_slope < 1e-14);
}
