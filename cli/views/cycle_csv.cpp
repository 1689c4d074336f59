// `cycle --format csv`: one flat table, one figure a line, SI; the quantities are those of the JSON.

#include <string_view>

#include "cli/views/csv.h"
#include "cli/views/cycle_view.h"
#include "cli/words.h"

namespace ebb::cli {
namespace {

class CycleCsv final : public CycleView {
public:
    CycleCsv(const Subject& subject, Output& output) : layout_(subject.layout), output_(output) {}

    void begin() override { output_.write("routine,kind,id,quantity,unit,value\n"); }

    void show(const CycleRun& run) override {
        routine_ = csv_cell(run.course.name);
        write_frame(run);
        write_vessels(run.course);
        write_beds(run.course);
        write_pumps(run.course);
        write_water(run);
        for (const time::Event& event : run.course.events) {
            thing("event", event.about_id);
            figure(time::name_of(event.what), "s", event.t_s);
        }
        for (const Finding& finding : run.found) {
            thing("warning", finding.about);
            word(finding.code, finding.says);
        }
        for (const TimeTarget& target : run.targets) {
            thing("target", target.about);
            truth(csv_cell(wish_of(target)), target.met);
            truth("asked", target.asked);
        }
    }

    void end() override {}

private:
    void thing(std::string_view kind, const std::string& id) { begin_ = routine_ + ',' + std::string(kind) + ',' + csv_cell(id) + ','; }
    void line(std::string_view quantity, std::string_view unit, std::string_view value) {
        std::string line = begin_;
        line.append(quantity).append(1, ',').append(unit).append(1, ',').append(value).append("\n");
        output_.write(line);
    }
    void figure(std::string_view quantity, std::string_view unit, double value) { line(quantity, unit, csv_number(value)); }
    void word(std::string_view quantity, std::string_view value) { line(quantity, "", csv_cell(value)); }
    void truth(std::string_view quantity, bool value) { line(quantity, "", value ? "true" : "false"); }
    void count(std::string_view quantity, std::int64_t value) { line(quantity, "", std::to_string(value)); }

    void write_frame(const CycleRun& run) {
        const time::Course& course = run.course;
        thing("routine", "");
        word("arrangement", layout_.arrangements[static_cast<std::size_t>(run.plan.arrangement)].name);
        figure("lasts", "s", run.plan.lasts_s);
        figure("repeats-every", "s", course.repeats_every_s);
        figure("lasted", "s", course.lasted_s);
        word("ending", time::name_of(course.ending));
        word("why", course.why);
        word("repeats", time::name_of(course.repeat));
        figure("repeats-from", "s", course.repeats_from_s);
        word("why-no-repeat", course.why_no_repeat);
        figure("cycle-begin", "s", course.cycle_begin_s);
        figure("cycle-end", "s", course.cycle_end_s);
        figure("cycle-energy", "J", course.cycle_energy_j);
        figure("water", "m3", course.water_m3);
        figure("worst-water-error", "m3", course.worst_water_error_m3);
    }

    void write_vessels(const time::Course& course) {
        for (std::size_t i = 0; i < course.vessels.size(); ++i) {
            const time::VesselCourse& vessel = course.vessels[i];
            thing(layout::name_of(layout_.vessels[i].kind), layout_.vessels[i].id);
            figure("least-depth", "m", vessel.least_depth_m);
            figure("greatest-depth", "m", vessel.greatest_depth_m);
            figure("end-depth", "m", vessel.end_depth_m);
            figure("end-volume", "m3", vessel.end_volume_m3);
            figure("spilled", "m3", vessel.spilled_m3);
            figure("least-at", "s", vessel.least_at_s);
            figure("greatest-at", "s", vessel.greatest_at_s);
            figure("least-freeboard", "m", vessel.least_freeboard_m);
            figure("first-spill", "s", vessel.first_spill_s);
            figure("spilled-in-cycle", "m3", vessel.spilled_in_cycle_m3);
            figure("mean-depth", "m", vessel.mean_depth_m);
            figure("mean-volume", "m3", vessel.mean_volume_m3);
            figure("mean-inflow", "m3/s", vessel.mean_inflow_m3_s);
            figure("turnover", "s", vessel.turnover_s);
        }
    }

    void write_beds(const time::Course& course) {
        for (const time::BedCourse& bed : course.beds) {
            const layout::Vessel& vessel = layout_.vessels[static_cast<std::size_t>(bed.vessel)];
            thing(layout::name_of(vessel.kind), vessel.id);
            figure("fill", "s", bed.fill_s);
            figure("hold", "s", bed.hold_s);
            figure("drain", "s", bed.drain_s);
            figure("period", "s", bed.period_s);
            figure("peak-drain", "m3/s", bed.peak_drain_m3_s);
            figure("peak-drain-at", "s", bed.peak_drain_at_s);
            figure("spare", "s", bed.spare_s);
            count("starts", bed.starts);
            count("breaks", bed.breaks);
            count("fills", bed.fills);
            count("drains", bed.drains);
            truth("has-siphon", bed.has_siphon);
            truth("timed", bed.timed);
            truth("never-starts", bed.never_starts);
            truth("never-breaks", bed.never_breaks);
            truth("opened-before-drained", bed.opened_before_drained);
        }
    }

    void write_pumps(const time::Course& course) {
        for (std::size_t i = 0; i < course.pumps.size(); ++i) {
            const time::PumpCourse& pump = course.pumps[i];
            thing("pump", layout_.pumps[i].id);
            figure("energy", "J", pump.energy_j);
            figure("run", "s", pump.run_s);
            figure("dry", "s", pump.dry_s);
            figure("first-dry", "s", pump.first_dry_s);
            figure("pumped", "m3", pump.pumped_m3);
            count("starts", pump.starts);
            figure("least-flow", "m3/s", pump.least_flow_m3_s);
            figure("greatest-flow", "m3/s", pump.greatest_flow_m3_s);
        }
    }

    template <typename Things>
    void write_sources(std::string_view kind, const Things& things, const std::vector<time::SourceCourse>& sources) {
        for (std::size_t i = 0; i < sources.size(); ++i) {
            thing(kind, things[i].id);
            figure("given", "m3", sources[i].given_m3);
        }
    }

    void write_taken(std::string_view kind, const std::string& from, const time::TakenCourse& taken) {
        thing(kind, from);
        figure("wanted", "m3", taken.wanted_m3);
        figure("taken", "m3", taken.taken_m3);
        figure("missing", "m3", taken.missing_m3);
    }

    void write_water(const CycleRun& run) {
        const time::Course& course = run.course;
        write_sources("supply", layout_.supplies, course.supplies);
        write_sources("pond", layout_.ponds, course.ponds);
        write_sources("float-valve", layout_.float_valves, course.float_valves);
        for (std::size_t i = 0; i < course.draws.size(); ++i) {
            write_taken("draw", run.plan.routine.draws[i].from_id, course.draws[i]);
        }
        for (std::size_t i = 0; i < course.uptakes.size(); ++i) {
            write_taken("uptake", run.plan.routine.uptakes[i].from_id, course.uptakes[i]);
        }
        for (std::size_t i = 0; i < course.tees.size(); ++i) {
            if (layout_.tees[i].takes_m3_s > 0.0) {
                write_taken("tee", layout_.tees[i].id, course.tees[i]);
            }
        }
        for (std::size_t i = 0; i < course.pipes.size(); ++i) {
            thing(layout_.pipes[i].gravity ? "drain" : "pipe", layout_.pipes[i].id);
            figure("net", "m3", course.pipes[i].net_m3);
            figure("backward", "m3", course.pipes[i].backward_m3);
            figure("greatest-flow", "m3/s", course.pipes[i].greatest_flow_m3_s);
        }
    }

    const layout::Layout& layout_;
    Output& output_;
    std::string routine_, begin_;
};

}  // namespace

std::unique_ptr<CycleView> make_cycle_csv(const Subject& subject, Output& output) { return std::make_unique<CycleCsv>(subject, output); }

}  // namespace ebb::cli
