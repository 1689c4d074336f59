#pragma once
// The example farm with a fault in it, made by another way than the diagnosis takes: the fault is drawn into the XML of the layout as its meaning
// asks for, the text is read and checked like any layout, and `settle::Farm` solves it. What a person would read is taken from that answer.

#include <memory>
#include <random>
#include <span>
#include <string>
#include <vector>

#include "netfiles/reader.h"
#include "solver/diagnose/predict.h"
#include "solver/settle/answer.h"
#include "solver/survey/uncertainty.h"

namespace ebb::faulty {

/// Of the pipe's velocity heads, what a place of which the share `open` is left loses: Weisbach's contraction coefficients as tabled by Streeter
/// (Fluid Mechanics: A2/A1 and Cc, from memory), straight between them, and the sudden expansion of the jet.
double loss_of_opening(double open);

/// What stands there to be read.
struct State {
    bool solved = false;
    layout::Layout farm;
    settle::Answer answer;
    std::vector<double> depth_m;        ///< per vessel; NaN where it swings
    std::vector<double> low_m, high_m;  ///< of those that swing
    std::vector<std::uint8_t> spills;
    std::vector<double> moves;        ///< per vessel: m in ten minutes
    std::int32_t runs_at_notch = -1;  ///< a siphon that does not stop
};

/// The farm of `file` in its arrangement `arrangement`, that has run soundly, with one fault of the drawn layout `drawn` in it, at the size u. `z`:
/// what the layout's unknowns are in truth, empty: as drawn.
State farm_with(const std::string& file, const std::string& arrangement, const layout::Layout& drawn, const diagnose::Injected* fault,
                std::span<const survey::Uncertainty> unknowns = {}, std::span<const double> z = {});

/// What a person reads of it, without the error of the reading: NaN where nothing determines it.
double value_of(const State& state, const diagnose::Observable& what, std::mt19937& random);

}  // namespace ebb::faulty
