#include "solver/time/simulation.h"

#include "solver/settle/model.h"
#include "solver/time/run.h"

namespace ebb::time {

struct Simulation::Impl {
    const layout::Layout* layout;
    Options options;
    network::Network network;
    network::Solver solver;
    Impl(const layout::Layout& of, Options with) : layout(&of), options(std::move(with)), network(network::compile(of)), solver(network) {}
};

Simulation::Simulation(const layout::Layout& layout, Options options) : impl_(std::make_unique<Impl>(layout, std::move(options))) {}
Simulation::~Simulation() = default;
Simulation::Simulation(Simulation&&) noexcept = default;
Simulation& Simulation::operator=(Simulation&&) noexcept = default;

const layout::Layout& Simulation::layout() const { return *impl_->layout; }
Options& Simulation::options() { return impl_->options; }

Course Simulation::run(const Plan& plan) { return Run(*impl_->layout, impl_->network, impl_->solver, impl_->options, plan).go(); }

Memory start_memory(const layout::Layout& layout) {
    Memory memory;
    memory.volume_m3 = settle::start_of(layout).volume_m3;
    memory.primed.assign(layout.siphons.size(), 0);
    return memory;
}

SettledStart settled_memory(const layout::Layout& layout, const layout::Conditions& conditions) {
    settle::Model model(network::compile(layout));
    const settle::Solved solved = settle::solve_model(model, layout, conditions, false, settle::start_of(layout), {});
    SettledStart start;
    start.found = solved.levels.found && solved.state == settle::State::settled;
    start.cycles = solved.levels.found && solved.state == settle::State::cycles;
    if (!start.found) start.why = solved.why.empty() ? std::string(settle::name_of(solved.state)) : solved.why;
    if (!start.found && !start.cycles) {
        start.memory = start_memory(layout);
        return start;
    }
    for (std::int32_t v = 0; v < model.network.vessel_count; ++v) {
        const double level = solved.levels.point.head_m[static_cast<std::size_t>(model.network.vessel_node(v))];
        start.memory.volume_m3.push_back(network::volume_at_level(model.network.storage[static_cast<std::size_t>(v)], level).value);
    }
    start.memory.primed = solved.primed;
    return start;
}

Plan plan_of_routine(const layout::Layout& layout, std::int32_t routine) {
    const layout::Routine& asked = layout.routines[static_cast<std::size_t>(routine)];
    Plan plan;
    plan.name = asked.name;
    plan.arrangement = asked.arrangement;
    plan.conditions = layout::conditions_of(layout, asked.arrangement);
    plan.routine = asked;
    plan.start = asked.from_settled ? settled_memory(layout, plan.conditions).memory : start_memory(layout);
    plan.lasts_s = asked.lasts_s;
    return plan;
}

}  // namespace ebb::time
