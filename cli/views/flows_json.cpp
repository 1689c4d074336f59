// `flows --format json`: the stable contract. SI, the unit in the key, the ids of the layout in the order of the file.
// New keys may be added; none is renamed or removed within a major version. docs/commands.md lists them all.

#include "cli/views/json_writer.h"
#include "cli/views/uncertain.h"
#include "cli/views/view.h"
#include "cli/views/warnings_json.h"
#include "cli/words.h"
#include "solver/version.h"

namespace ebb::cli {
namespace {

/// "flow_m3_s_low" and "flow_m3_s_high", where a figure rests on a pump known only by its label.
void write_band(JsonWriter& json, const std::string& key, const settle::Band& band) {
    if (band.there()) {
        json.entry(key + "_low", band.low);
        json.entry(key + "_high", band.high);
    }
}

class FlowsJson final : public FlowsView {
public:
    FlowsJson(const Subject& subject, Output& output) : subject_(subject), layout_(subject.layout), json_(output) {}

    void begin() override {
        json_.begin_object();
        json_.entry("ebbwright", kVersion);
        json_.entry("layout", layout_.name);
        json_.key("arrangements");
        json_.begin_array();
    }

    void show(const settle::Answer& answer, const std::vector<Finding>& found, const survey::UncertainAnswer* unsure) override {
        json_.new_line();
        json_.begin_object();
        write_state(answer);
        write_vessels(answer);
        write_tees(answer);
        write_pipes(answer);
        write_pumps(answer);
        write_devices(answer);
        write_overflows(answer);
        write_sources(answer);
        write_ledgers(answer);
        write_warnings(json_, subject_, found);
        write_targets(answer);
        if (subject_.uncertain) {
            write_uncertain(json_, subject_, unsure);
        }
        json_.end_object();
    }

    void end() override {
        json_.end_array();
        json_.new_line();
        json_.key("assumptions");
        json_.begin_array();
        for (const layout::Assumption& assumption : assumptions_in_use(layout_)) {
            json_.open_element(assumption.about, "about");
            json_.entry("what", assumption.what);
            json_.entry("value", assumption.value);
            json_.entry("low", assumption.low);
            json_.entry("high", assumption.high);
            json_.entry("unit", assumption.unit);
            json_.entry("source", assumption.source);
            json_.entry("count", assumption.count);
            json_.end_object();
        }
        json_.end_array();
        json_.end_object();
        json_.finish();
    }

private:
    void write_state(const settle::Answer& answer) {
        json_.entry("name", answer.name);
        json_.entry("state", settle::name_of(answer.state));
        json_.entry("solved", settle::solved(answer.state));
        json_.text_or_null("why", answer.why);
        json_.entry("newton_steps", answer.counts.newton_steps);
        json_.entry("newton_steps_total", answer.counts.newton_steps_total);
        json_.entry("network_solves", answer.counts.network_solves);
        json_.entry("worst_flow_imbalance_m3_s", answer.worst_flow_imbalance_m3_s);
        json_.entry("worst_head_error_m", answer.worst_head_error_m);
        json_.entry("dry_after_s", answer.dry_after_s);
        json_.entry("rests_on_label", answer.rests_on_label);
    }

    void write_vessels(const settle::Answer& answer) {
        json_.open_list("vessels");
        for (std::size_t i = 0; i < answer.vessels.size(); ++i) {
            const settle::VesselAnswer& vessel = answer.vessels[i];
            json_.open_element(layout_.vessels[i].id);
            json_.entry("kind", layout::name_of(layout_.vessels[i].kind));
            json_.entry("depth_m", vessel.depth_m);
            write_band(json_, "depth_m", vessel.depth_band);
            json_.entry("level_m", vessel.level_m);
            json_.entry("volume_m3", vessel.volume_m3);
            json_.entry("inflow_m3_s", vessel.inflow_m3_s);
            write_band(json_, "inflow_m3_s", vessel.inflow_band);
            json_.entry("outflow_m3_s", vessel.outflow_m3_s);
            json_.entry("turnover_s", vessel.turnover_s);
            json_.entry("freeboard_m", vessel.freeboard_m);
            json_.entry("spill_m3_s", vessel.spill_m3_s);
            json_.entry("spilled_m3", vessel.spilled_m3);
            json_.entry("first_spill_s", vessel.first_spill_s);
            json_.end_object();
        }
        json_.end_array();
    }

    void write_tees(const settle::Answer& answer) {
        json_.open_list("tees");
        for (std::size_t i = 0; i < answer.tees.size(); ++i) {
            json_.open_element(layout_.tees[i].id);
            json_.entry("head_m", answer.tees[i].head_m);
            json_.entry("pressure_m", answer.tees[i].pressure_m);
            json_.entry("takes_m3_s", layout_.tees[i].takes_m3_s);
            json_.entry("vented", layout_.tees[i].vented);
            json_.entry("air", answer.tees[i].air);
            json_.end_object();
        }
        json_.end_array();
    }

    void write_pipe(const settle::PipeAnswer& pipe) {
        json_.entry("flow_m3_s", pipe.flow_m3_s);
        write_band(json_, "flow_m3_s", pipe.flow_band);
        json_.entry("velocity_m_s", pipe.velocity_m_s);
        json_.entry("loss_m", pipe.loss_m);
        json_.entry("tee_loss_m", pipe.tee_loss_m);
        json_.entry("reynolds", pipe.reynolds);
        json_.entry("shut", pipe.shut);
        json_.entry("entrance_limits", pipe.entrance_limits);
    }

    void write_pipes(const settle::Answer& answer) {
        json_.open_list("pipes");
        for (std::size_t i = 0; i < answer.pipes.size(); ++i) {
            if (!layout_.pipes[i].gravity) {
                json_.open_element(layout_.pipes[i].id);
                write_pipe(answer.pipes[i]);
                json_.end_object();
            }
        }
        json_.end_array();
        json_.open_list("drains");
        for (std::size_t i = 0; i < answer.pipes.size(); ++i) {
            if (layout_.pipes[i].gravity) {
                json_.open_element(layout_.pipes[i].id);
                write_pipe(answer.pipes[i]);
                json_.entry("fill_ratio", answer.pipes[i].fill_ratio);
                json_.entry("capacity_used", answer.pipes[i].capacity_used);
                json_.entry("drowned", answer.pipes[i].drowned);
                json_.end_object();
            }
        }
        json_.end_array();
    }

    void write_pumps(const settle::Answer& answer) {
        json_.open_list("pumps");
        for (std::size_t i = 0; i < answer.pumps.size(); ++i) {
            const settle::PumpAnswer& pump = answer.pumps[i];
            json_.open_element(layout_.pumps[i].id);
            json_.entry("running", pump.running);
            json_.entry("flow_m3_s", pump.flow_m3_s);
            write_band(json_, "flow_m3_s", pump.flow_band);
            json_.entry("head_m", pump.head_m);
            write_band(json_, "head_m", pump.head_band);
            json_.entry("power_w", pump.power_w);
            json_.entry("efficiency", pump.efficiency);
            json_.entry("npsh_available_m", pump.npsh_available_m);
            json_.entry("npsh_required_m", pump.npsh_required_m);
            json_.entry("best_point_ratio", pump.best_point_ratio);
            json_.entry("inlet_head_m", pump.inlet_head_m);
            json_.entry("outlet_head_m", pump.outlet_head_m);
            json_.entry("intake_bare", pump.intake_bare);
            json_.entry("beyond_curve", pump.beyond_curve);
            json_.entry("against_shut", pump.against_shut);
            json_.entry("from_label", pump.from_label);
            json_.end_object();
        }
        json_.end_array();
    }

    void write_devices(const settle::Answer& answer) {
        const layout::Conditions conditions = layout::conditions_of(layout_, answer.arrangement);
        json_.open_list("valves");
        for (std::size_t i = 0; i < layout_.valves.size(); ++i) {
            json_.open_element(layout_.valves[i].id);
            json_.entry("opening", conditions.valve_opening[i]);
            json_.end_object();
        }
        json_.end_array();
        json_.open_list("filters");
        for (std::size_t i = 0; i < answer.filters.size(); ++i) {
            json_.open_element(layout_.filters[i].id);
            json_.entry("flow_m3_s", answer.filters[i].flow_m3_s);
            json_.entry("loss_m", answer.filters[i].loss_m);
            json_.entry("inlet_head_m", answer.filters[i].inlet_head_m);
            json_.entry("outlet_head_m", answer.filters[i].outlet_head_m);
            json_.entry("load", conditions.filter_load[i]);
            json_.end_object();
        }
        json_.end_array();
        json_.open_list("nozzles");
        for (std::size_t i = 0; i < answer.nozzles.size(); ++i) {
            json_.open_element(layout_.nozzles[i].id);
            json_.entry("flow_m3_s", answer.nozzles[i].flow_m3_s);
            json_.entry("head_m", answer.nozzles[i].head_m);
            json_.entry("inlet_head_m", answer.nozzles[i].inlet_head_m);
            json_.end_object();
        }
        json_.end_array();
    }

    void write_overflows(const settle::Answer& answer) {
        const layout::Conditions conditions = layout::conditions_of(layout_, answer.arrangement);
        json_.open_list("standpipes");
        for (std::size_t i = 0; i < answer.standpipes.size(); ++i) {
            const settle::StandpipeAnswer& standpipe = answer.standpipes[i];
            json_.open_element(layout_.standpipes[i].id);
            json_.entry("flow_m3_s", standpipe.flow_m3_s);
            json_.entry("depth_over_lip_m", standpipe.depth_over_lip_m);
            json_.entry("regime", settle::name_of(standpipe.regime));
            json_.entry("foot_head_m", standpipe.foot_head_m);
            json_.entry("through_holes_m3_s", standpipe.through_holes_m3_s);
            json_.entry("insert", layout_.standpipes[i].inserts[static_cast<std::size_t>(conditions.insert[i])].name);
            json_.entry("may_run_full", standpipe.may_run_full);
            json_.entry("full_pipe_level_m", standpipe.full_pipe_level_m);
            json_.end_object();
        }
        json_.end_array();
        json_.open_list("siphons");
        for (std::size_t i = 0; i < answer.siphons.size(); ++i) {
            const settle::SiphonAnswer& siphon = answer.siphons[i];
            json_.open_element(layout_.siphons[i].id);
            json_.entry("primed", siphon.primed);
            json_.entry("flow_m3_s", siphon.flow_m3_s);
            json_.entry("foot_head_m", siphon.foot_head_m);
            json_.entry("dribbles", siphon.dribbles);
            json_.entry("runs_for_ever", siphon.runs_for_ever);
            json_.end_object();
        }
        json_.end_array();
    }

    void write_sources(const settle::Answer& answer) {
        json_.open_list("supplies");
        for (std::size_t i = 0; i < answer.supplies.size(); ++i) {
            json_.open_element(layout_.supplies[i].id);
            json_.entry("flow_m3_s", answer.supplies[i].flow_m3_s);
            json_.end_object();
        }
        json_.end_array();
        json_.open_list("float_valves");
        for (std::size_t i = 0; i < answer.float_valves.size(); ++i) {
            json_.open_element(layout_.float_valves[i].id);
            json_.entry("flow_m3_s", answer.float_valves[i].flow_m3_s);
            json_.entry("opening", answer.float_valves[i].opening);
            json_.entry("inlet_head_m", answer.float_valves[i].inlet_head_m);
            json_.end_object();
        }
        json_.end_array();
        json_.open_list("ponds");
        for (std::size_t i = 0; i < answer.ponds.size(); ++i) {
            json_.open_element(layout_.ponds[i].id);
            json_.entry("level_m", layout_.ponds[i].level_m);
            json_.entry("flow_m3_s", answer.ponds[i].flow_m3_s);
            json_.end_object();
        }
        json_.end_array();
    }

    void write_ledgers(const settle::Answer& answer) {
        json_.open_list("sump_ledger");
        for (const settle::SumpLedger& ledger : answer.ledgers) {
            json_.open_element(layout_.vessels[static_cast<std::size_t>(ledger.vessel)].id);
            json_.entry("running_depth_m", ledger.running_depth_m);
            json_.entry("stopped_depth_m", ledger.stopped_depth_m);
            json_.entry("returned_m3", ledger.returned_m3);
            json_.entry("stopped_spill_m3", ledger.stopped_spill_m3);
            json_.entry("evaporation_m3_day", ledger.evaporation_m3_day);
            json_.entry("depth_after_day_m", ledger.depth_after_day_m);
            json_.entry("least_depth_m", ledger.least_depth_m);
            json_.entry("margin_m", ledger.margin_m);
            json_.entry("margin_m3", ledger.margin_m3);
            json_.entry("days_to_least", ledger.days_to_least);
            json_.entry("freeboard_running_m", ledger.freeboard_running_m);
            json_.entry("freeboard_stopped_m", ledger.freeboard_stopped_m);
            json_.end_object();
        }
        json_.end_array();
    }

    void write_targets(const settle::Answer& answer) {
        json_.open_list("targets");
        for (const settle::Target& target : answer.targets) {
            json_.open_element(target.about, "about");
            json_.entry("wants", wish_of(target));
            json_.entry("got", target.got);
            json_.entry("met", target.met);
            json_.entry("asked", target.asked);
            json_.entry("band_meets", target.band_meets);
            json_.end_object();
        }
        json_.end_array();
    }

    const Subject& subject_;
    const layout::Layout& layout_;
    JsonWriter json_;
};

}  // namespace

std::unique_ptr<FlowsView> make_flows_json(const Subject& subject, Output& output) { return std::make_unique<FlowsJson>(subject, output); }

}  // namespace ebb::cli
