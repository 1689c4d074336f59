// The solve of one arrangement, from settings to a judged answer.

#include "solver/settle/farm.h"

#include <algorithm>
#include <array>
#include <cassert>
#include <cmath>

#include "solver/settle/model.h"

namespace ebb::settle {

namespace {

std::size_t at(std::int32_t index) { return static_cast<std::size_t>(index); }

void widen(Band& band, double value) {
    if (std::isnan(value)) return;
    band.low = std::isnan(band.low) ? value : std::min(band.low, value);
    band.high = std::isnan(band.high) ? value : std::max(band.high, value);
}

/// Widens the bands of `answer` by another answer to the same question (and by its own).
void widen_bands(const Answer& other, Answer& answer) {
    for (std::size_t v = 0; v < answer.vessels.size(); ++v) {
        widen(answer.vessels[v].inflow_band, other.vessels[v].inflow_m3_s);
        widen(answer.vessels[v].depth_band, other.vessels[v].depth_m);
    }
    for (std::size_t p = 0; p < answer.pipes.size(); ++p) widen(answer.pipes[p].flow_band, other.pipes[p].flow_m3_s);
    for (std::size_t p = 0; p < answer.pumps.size(); ++p) {
        widen(answer.pumps[p].flow_band, other.pumps[p].flow_m3_s);
        widen(answer.pumps[p].head_band, other.pumps[p].head_m);
    }
    for (std::size_t t = 0; t < answer.targets.size(); ++t) answer.targets[t].band_meets = answer.targets[t].band_meets && other.targets[t].met;
}

}  // namespace

struct Farm::Impl {
    const layout::Layout* layout;
    Options options;
    std::array<std::unique_ptr<Model>, 3> models;  // by LabelCurve; the ends of the band only when a label is there
    bool has_label = false;
    Start start;

    Model& model(network::LabelCurve label) {
        auto& slot = models[static_cast<std::size_t>(label)];
        if (!slot) slot = std::make_unique<Model>(network::compile(*layout, label));
        return *slot;
    }

    LevelTolerances tolerances() const {
        LevelTolerances tolerances;
        tolerances.network.head_m = options.head_tolerance_m;
        tolerances.network.flow_share = options.flow_tolerance;
        tolerances.network.greatest_steps = options.greatest_steps;
        return tolerances;
    }

    bool rests_on_label(const layout::Conditions& conditions) const {
        for (std::size_t p = 0; p < layout->pumps.size(); ++p)
            if (conditions.pump_speed[p] > 0.0 && layout->pump_models[at(layout->pumps[p].model)].from_label) return true;
        return false;
    }

    Answer answer_on(network::LabelCurve label, const layout::Conditions& conditions, bool at_start_levels, Solved& solved) {
        Model& on = model(label);
        solved = solve_model(on, *layout, conditions, at_start_levels, start, tolerances());
        on.solver.look_at(solved.settings, solved.levels.point);
        Answer answer;
        fill_answer(on, *layout, conditions, solved, answer);
        verify(*layout, conditions, answer);
        judge(*layout, conditions, answer);
        return answer;
    }

    Answer solve(const layout::Conditions& conditions, bool at_start_levels) {
        Solved solved;
        Answer answer = answer_on(network::LabelCurve::central, conditions, at_start_levels, solved);
        answer.rests_on_label = rests_on_label(conditions);
        if (options.bands && answer.rests_on_label) {
            widen_bands(Answer(answer), answer);
            for (const auto end : {network::LabelCurve::low, network::LabelCurve::high}) {
                Solved ignored;
                const Answer other = answer_on(end, conditions, at_start_levels, ignored);
                if (settle::solved(other.state)) widen_bands(other, answer);
            }
        }
        if (options.ledgers && answer.state == State::settled)
            add_ledgers(model(network::LabelCurve::central), *layout, conditions, solved, tolerances(), options.evaporation_share_per_day, answer);
        return answer;
    }
};

Farm::Farm(const layout::Layout& layout, Options options) : impl_(std::make_unique<Impl>()) {
    impl_->layout = &layout;
    impl_->options = options;
    impl_->start = start_of(layout);
}

Farm::~Farm() = default;
Farm::Farm(Farm&&) noexcept = default;
Farm& Farm::operator=(Farm&&) noexcept = default;

Answer Farm::solve(std::int32_t arrangement) {
    assert(arrangement >= 0 && at(arrangement) < impl_->layout->arrangements.size());
    const layout::Arrangement& asked = impl_->layout->arrangements[at(arrangement)];
    Answer answer = impl_->solve(layout::conditions_of(*impl_->layout, arrangement), asked.at_start_levels);
    answer.arrangement = arrangement;
    answer.name = asked.name;
    return answer;
}

Answer Farm::solve(const layout::Conditions& conditions, bool at_start_levels) { return impl_->solve(conditions, at_start_levels); }

}  // namespace ebb::settle
