#pragma once
// What the lanes know of a network before any arrangement: links, vents, weirs, vessels, the pattern and the programme of its elimination.

#include <cstdint>
#include <vector>

#include "solver/network/network.h"
#include "solver/survey/lane_data.h"

namespace ebb::survey {

struct LaneNetwork {
    std::vector<LaneLink> links;
    std::vector<LaneVent> vents;
    std::vector<LaneFoot> feet;
    std::vector<LaneWeir> weirs;
    std::vector<LaneHole> holes;
    std::vector<LaneVessel> vessels;
    std::vector<LanePiece> pieces;
    std::vector<LaneKink> kinks;
    std::vector<std::int32_t> takers;
    std::vector<std::int32_t> programme, zero_places;
    std::vector<double> pipe_numbers;  ///< physics::kPipeNumbers for each pipe
    std::int32_t bands = 0, unknowns = 0, matrix_lines = 0;
};

LaneNetwork lane_network(const network::Network& network);

/// The flow up to which the drain of a vent carries what arrives for certain, with a head of `safe_below_m` below it; minus infinite: none is
/// certain.
double safe_flow_m3_s(const network::Network& network, const LaneVent& vent, const network::LinkSetting& setting);

/// The numbers of one pipe, physics::kPipeNumbers of them, in the order of the kernels.
void write_numbers(const physics::DarcyPipe& pipe, double* numbers);
void write_numbers(const physics::HazenPipe& pipe, double* numbers);

/// What a round opening of this bore has of numbers.
struct OpeningNumbers {
    double inverse_bore, flow_scale, slope_scale, flow_from_rest_m3_s;
};
OpeningNumbers opening_numbers(double bore_m);

}  // namespace ebb::survey
