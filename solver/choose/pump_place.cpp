#include "solver/choose/pump_place.h"

#include <algorithm>
#include <cmath>

#include "solver/choose/margins.h"

namespace ebb::choose {

namespace {

std::size_t at(std::int32_t index) { return static_cast<std::size_t>(index); }

constexpr double kSpills_m3_s = 1e-9;  // 4 ml an hour
constexpr double kSpilled_m3 = 1e-6;   // on the way, as `pipes` has it (design_judge.cpp)

settle::Options quick_options() {
    settle::Options options;
    options.bands = false;
    options.ledgers = false;
    return options;
}

layout::Layout with_curve(const layout::Layout& layout, std::int32_t pump, const physics::PumpCurve& curve) {
    layout::Layout copy = layout;
    layout::PumpModel model;
    model.name = "curve put in";
    model.curve = curve;
    copy.pump_models.push_back(model);
    layout::Pump& place = copy.pumps[at(pump)];
    place.model = static_cast<std::int32_t>(copy.pump_models.size()) - 1;
    place.model_name = model.name;
    place.count = 1;
    place.wear = 0.0;
    return copy;
}

bool counts(const settle::Answer& answer, std::size_t t, const std::vector<std::uint8_t>& own) {
    const settle::Target& target = answer.targets[t];
    const bool no_figure = answer.state == settle::State::cycles && std::isnan(target.got);
    return t < own.size() && own[t] != 0 && target.asked && !no_figure;
}

}  // namespace

layout::Layout with_pump(const layout::Layout& layout, std::int32_t pump, const Put& put) {
    layout::Layout copy = layout;
    layout::Pump& place = copy.pumps[at(pump)];
    place.model = put.model;
    place.model_name = copy.pump_models[at(put.model)].name;
    place.count = put.count;
    place.wear = put.wear;
    if (put.band != Put::Band::central) {
        // a model of its own: other pumps of the same label stay on their central curve
        layout::PumpModel model = copy.pump_models[at(put.model)];
        model.curve = put.band == Put::Band::low ? model.curve_low : model.curve_high;
        copy.pump_models.push_back(std::move(model));
        place.model = static_cast<std::int32_t>(copy.pump_models.size()) - 1;
    }
    return copy;
}

Place::Place(const layout::Layout& layout, std::int32_t pump, const Put& put, std::stop_token stop)
    : layout_(with_pump(layout, pump, put)), pump_(pump), farm_(std::make_unique<settle::Farm>(layout_, quick_options())), stop_(std::move(stop)) {}

Place::Place(const layout::Layout& layout, std::int32_t pump, const physics::PumpCurve& curve, std::stop_token stop)
    : layout_(with_curve(layout, pump, curve)), pump_(pump), farm_(std::make_unique<settle::Farm>(layout_, quick_options())), stop_(std::move(stop)) {
}

settle::Answer Place::solve(std::int32_t arrangement, double speed) {
    if (stop_.stop_requested()) throw Stopped{};
    layout::Conditions conditions = layout::conditions_of(layout_, arrangement);
    conditions.pump_speed[at(pump_)] = speed;
    const layout::Arrangement& asked = layout_.arrangements[at(arrangement)];
    settle::Answer answer = farm_->solve(conditions, asked.at_start_levels);
    answer.arrangement = arrangement;
    answer.name = asked.name;
    return answer;
}

Reach reach_of(const layout::Layout& layout, std::int32_t pump) {
    using layout::Kind;
    Reach reach{.vessels = std::vector<std::uint8_t>(layout.vessels.size(), 0), .tees = std::vector<std::uint8_t>(layout.tees.size(), 0)};
    std::vector<layout::Ref> reached{{Kind::pump, pump}};
    const auto come_to = [&](const layout::Ref& ref) {
        if (ref.index < 0) return;
        if (ref.kind == Kind::vessel) reach.vessels[at(ref.index)] = 1;
        if (ref.kind == Kind::nozzle && layout.nozzles[at(ref.index)].into.kind == Kind::vessel)
            reach.vessels[at(layout.nozzles[at(ref.index)].into.index)] = 1;
        if (ref.kind == Kind::float_valve && layout.float_valves[at(ref.index)].into.kind == Kind::vessel)
            reach.vessels[at(layout.float_valves[at(ref.index)].into.index)] = 1;
        if (ref.kind == Kind::tee) reach.tees[at(ref.index)] = 1;
        if ((ref.kind == Kind::tee || ref.kind == Kind::filter) && std::find(reached.begin(), reached.end(), ref) == reached.end())
            reached.push_back(ref);
    };
    for (std::size_t i = 0; i < reached.size(); ++i) {
        const layout::Ref here = reached[i];
        for (const layout::Pipe& pipe : layout.pipes) {
            if (pipe.from.ref == here) come_to(pipe.to.ref);
            if (here.kind == Kind::tee && pipe.to.ref == here) come_to(pipe.from.ref);
        }
    }
    return reach;
}

bool can_be_judged(settle::State state) { return settle::solved(state) || state == settle::State::cycles; }

double own_margin(const settle::Answer& answer, const std::vector<std::uint8_t>& own) {
    if (!can_be_judged(answer.state)) return -std::numeric_limits<double>::infinity();
    const std::int32_t worst = own_worst(answer, own);
    return worst < 0 ? std::numeric_limits<double>::infinity() : margin_of(answer.targets[at(worst)]);
}

std::int32_t own_worst(const settle::Answer& answer, const std::vector<std::uint8_t>& own) {
    std::int32_t worst = -1;
    double least = std::numeric_limits<double>::infinity();
    for (std::size_t t = 0; t < answer.targets.size(); ++t) {
        if (!counts(answer, t, own)) continue;
        const double margin = margin_of(answer.targets[t]);
        if (worst >= 0 && !(margin < least)) continue;
        worst = static_cast<std::int32_t>(t);
        least = margin;
    }
    return worst;
}

std::int32_t spills_now(const settle::Answer& answer, const std::vector<std::uint8_t>& anyway) {
    for (std::size_t v = 0; v < answer.vessels.size(); ++v)
        if (answer.vessels[v].spill_m3_s > kSpills_m3_s && (v >= anyway.size() || anyway[v] == 0)) return static_cast<std::int32_t>(v);
    return -1;
}

std::int32_t spills_on_way(const settle::Answer& answer, const Duty& duty) {
    for (std::size_t v = 0; v < answer.vessels.size(); ++v) {
        if (v < duty.spills_anyway.size() && duty.spills_anyway[v] != 0) continue;
        const double anyway_m3 = v < duty.spilled_anyway_m3.size() ? duty.spilled_anyway_m3[v] : 0.0;
        if (answer.vessels[v].spilled_m3 > kSpilled_m3 + anyway_m3) return static_cast<std::int32_t>(v);
    }
    return -1;
}

}  // namespace ebb::choose
