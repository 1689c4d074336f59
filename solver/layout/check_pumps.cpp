// Pumps: model, where they stand, what is joined to them.

#include <unordered_map>

#include "solver/layout/checks.h"
#include "solver/layout/nearest.h"

namespace ebb::layout {
namespace {

class Models {
public:
    explicit Models(Checks& checks) {
        std::int32_t index = 0;
        for (const PumpModel& model : checks.layout.pump_models) {
            const auto [found, fresh] = by_name_.try_emplace(model.name, index++);
            if (!fresh) {
                const Place& first = checks.layout.pump_models[static_cast<std::size_t>(found->second)].place;
                checks.add({"name-twice", model.name, "two pump models are called " + in_quotes(model.name), "give one of them another name", "name"},
                           model.place, first);
            }
            names_.push_back(model.name);
        }
    }
    std::int32_t find(const std::string& name) const {
        const auto found = by_name_.find(name);
        return found == by_name_.end() ? -1 : found->second;
    }
    const std::vector<std::string_view>& names() const { return names_; }

private:
    std::unordered_map<std::string_view, std::int32_t> by_name_;
    std::vector<std::string_view> names_;
};

void check_model(Checks& checks, Pump& pump, const Models& models) {
    if (pump.model_name.empty()) {
        checks.add({"missing", pump.id, "pump " + pump.id + " does not say its model", "say model= with the name of a pump-model"}, pump.place);
        return;
    }
    pump.model = models.find(pump.model_name);
    if (pump.model < 0) {
        const std::string near = nearest_word(pump.model_name, models.names());
        std::string advice = near.empty() ? "known are " + join_labels(models.names(), "and") : "did you mean " + in_quotes(near) + "?";
        if (models.names().empty()) {
            advice = "include a catalogue that holds it, or write <pump-model name=" + in_quotes(pump.model_name) + " .../>";
        }
        checks.add({"unknown-model", pump.id, "the model " + in_quotes(pump.model_name) + " of pump " + pump.id + " is not known", advice, "model"},
                   pump.place);
        return;
    }
    const PumpModel& model = checks.layout.pump_models[static_cast<std::size_t>(pump.model)];
    if (model.curve.empty() && checks.problems.empty()) {
        checks.add({"missing", pump.id, "the model " + in_quotes(model.name) + " has no curve", "give it points, or its label"}, model.place);
    }
}

void check_place(Checks& checks, Pump& pump) {
    if (pump.in_id.empty()) {
        if (!said(pump.elevation_m)) {
            checks.add({"pump-where", pump.id, "pump " + pump.id + " neither stands in a vessel nor has an elevation",
                        "write in=\"...\" for a submersible pump, or elevation=\"0 m\" and a pipe to it"},
                       pump.place);
        }
        return;
    }
    pump.in = checks.resolve(pump.in_id, {Kind::vessel, Kind::pond}, {pump.id, "pump", "in", pump.place});
    if (!said(pump.intake_height_m)) {
        pump.intake_height_m = 0.0;
    }
    if (pump.in.kind == Kind::vessel) {
        const Vessel& vessel = checks.layout.vessels[static_cast<std::size_t>(pump.in.index)];
        const double height_m = vessel.rim_m - vessel.floor_m;
        if (height_m > 0.0 && pump.intake_height_m >= height_m) {
            checks.add({"intake-above-rim", pump.id,
                        "pump " + pump.id + " has its intake " + metres(pump.intake_height_m) + " above the floor of " + vessel.id +
                            ", whose rim is at " + metres(height_m),
                        "write the height of the intake above the floor, below the rim", "intake-height"},
                       pump.place, vessel.place);
        }
    }
}

void check_joints(Checks& checks, const Pump& pump, const Joint& joint) {
    const std::vector<Pipe>& pipes = checks.layout.pipes;
    const auto place_of = [&pipes](std::int32_t index) { return pipes[static_cast<std::size_t>(index)].place; };
    const auto label_of = [&pipes](std::int32_t index) { return pipes[static_cast<std::size_t>(index)].id; };
    if (joint.out.pipes > 1) {
        checks.add({"pump-two-outlets", pump.id,
                    "pump " + pump.id + " has " + std::to_string(joint.out.pipes) + " pipes on its outlet: " + label_of(joint.out.first) + " and " +
                        label_of(joint.out.second),
                    "lead one pipe to a tee and branch there", "from"},
                   place_of(joint.out.second), place_of(joint.out.first));
    } else if (joint.out.pipes == 0) {
        checks.add({"pump-no-outlet", pump.id, "no pipe leads away from pump " + pump.id, "write a <pipe from=" + in_quotes(pump.id) + " .../>"},
                   pump.place);
    }
    const bool submersible = !pump.in_id.empty();
    if (submersible && joint.in.pipes > 0) {
        checks.add({"pump-two-inlets", pump.id,
                    "pump " + pump.id + " stands in " + pump.in_id + " and is also fed by the pipe " + label_of(joint.in.first),
                    "keep in= (submersible) or the pipe (then give the pump an elevation)", "to"},
                   place_of(joint.in.first), pump.place);
    } else if (!submersible && joint.in.pipes == 0) {
        checks.add({"pump-no-inlet", pump.id, "nothing feeds pump " + pump.id,
                    "write in=\"...\" with the vessel it stands in, or a <pipe to=" + in_quotes(pump.id) + " .../>"},
                   pump.place);
    } else if (joint.in.pipes > 1) {
        checks.add({"pump-two-inlets", pump.id,
                    "pump " + pump.id + " is fed by two pipes: " + label_of(joint.in.first) + " and " + label_of(joint.in.second),
                    "join them at a tee before the pump", "to"},
                   place_of(joint.in.second), place_of(joint.in.first));
    }
}

}  // namespace

void check_pumps(Checks& checks, const Joints& joints) {
    const Models models(checks);
    std::size_t index = 0;
    for (Pump& pump : checks.layout.pumps) {
        check_model(checks, pump, models);
        check_place(checks, pump);
        check_joints(checks, pump, joints.pumps[index++]);
        if (pump.count < 1 || !(pump.wear >= 0.0 && pump.wear < 1.0)) {
            checks.add({"missing", pump.id, "pump " + pump.id + " has no count of at least one, or a wear outside 0 to below 1", "correct them"},
                       pump.place);
        }
    }
}

}  // namespace ebb::layout
