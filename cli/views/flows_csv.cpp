// `flows --format csv`: one flat table, one figure a line, SI. Easy to filter, pivot and plot; the quantities are those of the JSON.

#include <string_view>

#include "cli/views/csv.h"
#include "cli/views/uncertain.h"
#include "cli/views/view.h"
#include "cli/words.h"

namespace ebb::cli {

namespace {

class FlowsCsv final : public FlowsView {
public:
    FlowsCsv(const Subject& subject, Output& output) : layout_(subject.layout), output_(output) {}

    void begin() override { output_.write("arrangement,kind,id,quantity,unit,value\n"); }

    void show(const settle::Answer& answer, const std::vector<Finding>& found, const survey::UncertainAnswer* unsure) override {
        arrangement_ = csv_cell(answer.name);
        thing("arrangement", "");
        word("state", settle::name_of(answer.state));
        truth("solved", settle::solved(answer.state));
        figure("worst-flow-imbalance", "m3/s", answer.worst_flow_imbalance_m3_s);
        figure("worst-head-error", "m", answer.worst_head_error_m);
        figure("dry-after", "s", answer.dry_after_s);
        write_vessels(answer);
        write_pipes(answer);
        write_pumps(answer);
        write_devices(answer);
        write_ledgers(answer);
        write_judgements(answer, found);
        if (unsure != nullptr) {
            output_.write(uncertain_lines(layout_, arrangement_, *unsure));
        }
    }

    void end() override {}

private:
    void thing(std::string_view kind, const std::string& id) { begin_ = arrangement_ + ',' + std::string(kind) + ',' + csv_cell(id) + ','; }
    void line(std::string_view quantity, std::string_view unit, std::string_view value) {
        line_ = begin_;
        line_.append(quantity).append(1, ',').append(unit).append(1, ',').append(value).append("\n");
        output_.write(line_);
    }
    void figure(std::string_view quantity, std::string_view unit, double value) { line(quantity, unit, csv_number(value)); }
    void word(std::string_view quantity, std::string_view value) { line(quantity, "", csv_cell(value)); }
    void truth(std::string_view quantity, bool value) { line(quantity, "", value ? "true" : "false"); }
    void band(const std::string& quantity, std::string_view unit, const settle::Band& band) {
        if (band.there()) {
            figure(quantity + "-low", unit, band.low);
            figure(quantity + "-high", unit, band.high);
        }
    }

    void write_vessels(const settle::Answer& answer) {
        for (std::size_t i = 0; i < answer.vessels.size(); ++i) {
            const settle::VesselAnswer& vessel = answer.vessels[i];
            thing(layout::name_of(layout_.vessels[i].kind), layout_.vessels[i].id);
            figure("depth", "m", vessel.depth_m);
            band("depth", "m", vessel.depth_band);
            figure("level", "m", vessel.level_m);
            figure("volume", "m3", vessel.volume_m3);
            figure("inflow", "m3/s", vessel.inflow_m3_s);
            band("inflow", "m3/s", vessel.inflow_band);
            figure("outflow", "m3/s", vessel.outflow_m3_s);
            figure("turnover", "s", vessel.turnover_s);
            figure("freeboard", "m", vessel.freeboard_m);
            figure("spill", "m3/s", vessel.spill_m3_s);
            figure("spilled", "m3", vessel.spilled_m3);
        }
        for (std::size_t i = 0; i < answer.tees.size(); ++i) {
            thing("tee", layout_.tees[i].id);
            figure("head", "m", answer.tees[i].head_m);
            figure("pressure", "m", answer.tees[i].pressure_m);
            if (layout_.tees[i].takes_m3_s > 0.0) {
                figure("takes", "m3/s", layout_.tees[i].takes_m3_s);
            }
        }
    }

    void write_pipes(const settle::Answer& answer) {
        for (std::size_t i = 0; i < answer.pipes.size(); ++i) {
            const settle::PipeAnswer& pipe = answer.pipes[i];
            thing(layout_.pipes[i].gravity ? "drain" : "pipe", layout_.pipes[i].id);
            figure("flow", "m3/s", pipe.flow_m3_s);
            band("flow", "m3/s", pipe.flow_band);
            figure("velocity", "m/s", pipe.velocity_m_s);
            figure("loss", "m", pipe.loss_m);
            if (layout_.pipes[i].gravity) {
                figure("fill-ratio", "1", pipe.fill_ratio);
                figure("capacity-used", "1", pipe.capacity_used);
            } else {
                figure("reynolds", "1", pipe.reynolds);
            }
        }
    }

    void write_pumps(const settle::Answer& answer) {
        for (std::size_t i = 0; i < answer.pumps.size(); ++i) {
            const settle::PumpAnswer& pump = answer.pumps[i];
            thing("pump", layout_.pumps[i].id);
            truth("running", pump.running);
            figure("flow", "m3/s", pump.flow_m3_s);
            band("flow", "m3/s", pump.flow_band);
            figure("head", "m", pump.head_m);
            band("head", "m", pump.head_band);
            figure("power", "W", pump.power_w);
            figure("efficiency", "1", pump.efficiency);
            figure("npsh-available", "m", pump.npsh_available_m);
            figure("npsh-required", "m", pump.npsh_required_m);
            figure("best-point-ratio", "1", pump.best_point_ratio);
        }
    }

    void write_devices(const settle::Answer& answer) {
        for (std::size_t i = 0; i < answer.filters.size(); ++i) {
            thing("filter", layout_.filters[i].id);
            figure("flow", "m3/s", answer.filters[i].flow_m3_s);
            figure("loss", "m", answer.filters[i].loss_m);
        }
        for (std::size_t i = 0; i < answer.nozzles.size(); ++i) {
            thing("nozzle", layout_.nozzles[i].id);
            figure("flow", "m3/s", answer.nozzles[i].flow_m3_s);
            figure("head", "m", answer.nozzles[i].head_m);
        }
        for (std::size_t i = 0; i < answer.standpipes.size(); ++i) {
            thing("standpipe", layout_.standpipes[i].id);
            figure("flow", "m3/s", answer.standpipes[i].flow_m3_s);
            figure("depth-over-lip", "m", answer.standpipes[i].depth_over_lip_m);
            word("regime", settle::name_of(answer.standpipes[i].regime));
        }
        for (std::size_t i = 0; i < answer.siphons.size(); ++i) {
            thing("siphon", layout_.siphons[i].id);
            truth("primed", answer.siphons[i].primed);
            figure("flow", "m3/s", answer.siphons[i].flow_m3_s);
        }
        for (std::size_t i = 0; i < answer.supplies.size(); ++i) {
            thing("supply", layout_.supplies[i].id);
            figure("flow", "m3/s", answer.supplies[i].flow_m3_s);
        }
        for (std::size_t i = 0; i < answer.float_valves.size(); ++i) {
            thing("float-valve", layout_.float_valves[i].id);
            figure("flow", "m3/s", answer.float_valves[i].flow_m3_s);
            figure("opening", "1", answer.float_valves[i].opening);
        }
        for (std::size_t i = 0; i < answer.ponds.size(); ++i) {
            thing("pond", layout_.ponds[i].id);
            figure("flow", "m3/s", answer.ponds[i].flow_m3_s);
        }
    }

    void write_ledgers(const settle::Answer& answer) {
        for (const settle::SumpLedger& ledger : answer.ledgers) {
            thing("sump-ledger", layout_.vessels[static_cast<std::size_t>(ledger.vessel)].id);
            figure("running-depth", "m", ledger.running_depth_m);
            figure("stopped-depth", "m", ledger.stopped_depth_m);
            figure("returned", "m3", ledger.returned_m3);
            figure("stopped-spill", "m3", ledger.stopped_spill_m3);
            figure("evaporation", "m3/day", ledger.evaporation_m3_day);
            figure("depth-after-day", "m", ledger.depth_after_day_m);
            figure("least-depth", "m", ledger.least_depth_m);
            figure("margin", "m", ledger.margin_m);
            figure("margin-volume", "m3", ledger.margin_m3);
            figure("days-to-least", "day", ledger.days_to_least);
            figure("freeboard-running", "m", ledger.freeboard_running_m);
            figure("freeboard-stopped", "m", ledger.freeboard_stopped_m);
        }
    }

    void write_judgements(const settle::Answer& answer, const std::vector<Finding>& found) {
        for (const Finding& finding : found) {
            thing("warning", finding.about);
            word(finding.code, finding.says);
        }
        for (const settle::Target& target : answer.targets) {
            thing("target", target.about);
            truth(csv_cell(wish_of(target)), target.met);
            truth("asked", target.asked);
        }
    }

    const layout::Layout& layout_;
    Output& output_;
    std::string arrangement_, begin_, line_;
};

}  // namespace

std::unique_ptr<FlowsView> make_flows_csv(const Subject& subject, Output& output) { return std::make_unique<FlowsCsv>(subject, output); }

}  // namespace ebb::cli
