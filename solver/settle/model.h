#pragma once
// One network with its solver, and the solved state of one arrangement in it: what the answer is filled from.

#include <memory>
#include <vector>

#include "solver/network/newton.h"
#include "solver/settle/answer.h"
#include "solver/settle/levels.h"

namespace ebb::settle {

/// A compiled network and its workspace; does not move, so that the solver may point into it.
struct Model {
    network::Network network;
    network::Solver solver;
    Certainty certainty;
    explicit Model(network::Network compiled) : network(std::move(compiled)), solver(network), certainty(network) {}
    Model(const Model&) = delete;
    Model& operator=(const Model&) = delete;
};

/// What was asked, and where the solve ended.
struct Solved {
    State state = State::not_run;
    std::string why;
    network::Settings settings;
    std::vector<std::uint8_t> primed;   ///< per siphon
    std::vector<std::uint8_t> cycling;  ///< per siphon: neither dribbles nor runs for ever
    Settled levels;
};

/// Start volumes and levels of the layout's vessels.
struct Start {
    std::vector<double> volume_m3, level_m;
};
Start start_of(const layout::Layout& layout);

/// Solves a model at the start levels, or settles it from `start`, siphons' memory included.
Solved solve_model(Model& model, const layout::Layout& layout, const layout::Conditions& conditions, bool at_start_levels, const Start& start,
                   const LevelTolerances& tolerances);

/// Fills every number of `answer` (not warnings, targets, bands, ledgers) from the solved state.
void fill_answer(const Model& model, const layout::Layout& layout, const layout::Conditions& conditions, const Solved& solved, Answer& answer);

/// Recomputes every balance and every law from layout and answer, by the laws of physics alone; fills worst_flow_imbalance and worst_head_error.
void verify(const layout::Layout& layout, const layout::Conditions& conditions, Answer& answer);

/// Warnings and targets of a filled answer.
void judge(const layout::Layout& layout, const layout::Conditions& conditions, Answer& answer);

/// Vessels that share water through open links: loop number per vessel, and whether each loop is open to a pond or supply.
struct Loops {
    std::vector<std::int32_t> of_vessel;
    std::vector<std::uint8_t> open;
};
Loops loops_of(const network::Network& network, const network::Settings& settings);

/// The sump ledgers of an answer whose state is solved.
void add_ledgers(Model& model, const layout::Layout& layout, const layout::Conditions& conditions, const Solved& solved,
                 const LevelTolerances& tolerances, double evaporation_share_per_day, Answer& answer);

}  // namespace ebb::settle
