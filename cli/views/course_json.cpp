#include "cli/views/course_json.h"

#include <string>

#include "cli/views/event_words.h"

namespace ebb::cli {
namespace {

/// Writes one course; the object it goes into is open.
class CourseJson {
public:
    CourseJson(JsonWriter& json, const layout::Layout& layout, const time::Plan& plan, const time::Course& course)
        : json_(json), layout_(layout), plan_(plan), course_(course) {}

    void write_frame() {
        json_.entry("lasts_s", plan_.lasts_s);
        json_.entry("repeats_every_s", course_.repeats_every_s);
        json_.entry("from", plan_.routine.from_settled ? "settled" : "start");
        json_.entry("lasted_s", course_.lasted_s);
        json_.entry("ending", time::name_of(course_.ending));
        json_.text_or_null("why", course_.why);
        json_.entry("repeats", repeat_word());
        json_.entry("repeats_from_s", course_.repeats_from_s);
        json_.text_or_null("why_no_repeat", course_.why_no_repeat);
        json_.entry("cycle_begin_s", course_.cycle_begin_s);
        json_.entry("cycle_end_s", course_.cycle_end_s);
        json_.entry("cycle_energy_j", course_.cycle_energy_j);
    }

    void write_vessels() {
        json_.open_list("vessels");
        for (std::size_t i = 0; i < course_.vessels.size(); ++i) {
            const time::VesselCourse& vessel = course_.vessels[i];
            json_.open_element(layout_.vessels[i].id);
            json_.entry("kind", layout::name_of(layout_.vessels[i].kind));
            json_.entry("least_depth_m", vessel.least_depth_m);
            json_.entry("greatest_depth_m", vessel.greatest_depth_m);
            json_.entry("end_depth_m", vessel.end_depth_m);
            json_.entry("end_volume_m3", vessel.end_volume_m3);
            json_.entry("spilled_m3", vessel.spilled_m3);
            json_.entry("least_at_s", vessel.least_at_s);
            json_.entry("greatest_at_s", vessel.greatest_at_s);
            json_.entry("least_freeboard_m", vessel.least_freeboard_m);
            json_.entry("first_spill_s", vessel.first_spill_s);
            json_.entry("spilled_in_cycle_m3", vessel.spilled_in_cycle_m3);
            json_.entry("mean_depth_m", vessel.mean_depth_m);
            json_.entry("mean_volume_m3", vessel.mean_volume_m3);
            json_.entry("mean_inflow_m3_s", vessel.mean_inflow_m3_s);
            json_.entry("turnover_s", vessel.turnover_s);
            json_.end_object();
        }
        json_.end_array();
    }

    void write_beds() {
        json_.open_list("beds");
        for (const time::BedCourse& bed : course_.beds) {
            json_.open_element(layout_.vessels[static_cast<std::size_t>(bed.vessel)].id);
            json_.entry("fill_s", bed.fill_s);
            json_.entry("hold_s", bed.hold_s);
            json_.entry("drain_s", bed.drain_s);
            json_.entry("period_s", bed.period_s);
            json_.entry("peak_drain_m3_s", bed.peak_drain_m3_s);
            json_.entry("starts", bed.starts);
            json_.entry("breaks", bed.breaks);
            json_.entry("peak_drain_at_s", bed.peak_drain_at_s);
            json_.entry("spare_s", bed.spare_s);
            json_.entry("fills", bed.fills);
            json_.entry("drains", bed.drains);
            json_.entry("has_siphon", bed.has_siphon);
            json_.entry("timed", bed.timed);
            json_.entry("never_starts", bed.never_starts);
            json_.entry("never_breaks", bed.never_breaks);
            json_.entry("opened_before_drained", bed.opened_before_drained);
            json_.end_object();
        }
        json_.end_array();
    }

    void write_pumps() {
        json_.open_list("pumps");
        for (std::size_t i = 0; i < course_.pumps.size(); ++i) {
            const time::PumpCourse& pump = course_.pumps[i];
            json_.open_element(layout_.pumps[i].id);
            json_.entry("energy_j", pump.energy_j);
            json_.entry("run_s", pump.run_s);
            json_.entry("dry_s", pump.dry_s);
            json_.entry("first_dry_s", pump.first_dry_s);
            json_.entry("pumped_m3", pump.pumped_m3);
            json_.entry("starts", pump.starts);
            json_.entry("least_flow_m3_s", pump.least_flow_m3_s);
            json_.entry("greatest_flow_m3_s", pump.greatest_flow_m3_s);
            json_.end_object();
        }
        json_.end_array();
    }

    void write_water() {
        write_sources("supplies", layout_.supplies, course_.supplies);
        write_sources("ponds", layout_.ponds, course_.ponds);
        write_sources("float_valves", layout_.float_valves, course_.float_valves);
        json_.open_list("draws");
        for (std::size_t i = 0; i < course_.draws.size(); ++i) {
            const layout::Draw& draw = plan_.routine.draws[i];
            json_.open_element(draw.from_id, "from");
            json_.text_or_null("into", draw.into_id);
            json_.entry("at_s", draw.at_s);
            json_.entry("every_s", draw.every_s);
            write_taken(course_.draws[i]);
        }
        json_.end_array();
        json_.open_list("uptakes");
        for (std::size_t i = 0; i < course_.uptakes.size(); ++i) {
            json_.open_element(plan_.routine.uptakes[i].from_id, "from");
            write_taken(course_.uptakes[i]);
        }
        json_.end_array();
        json_.open_list("tees");
        for (std::size_t i = 0; i < course_.tees.size(); ++i) {
            if (layout_.tees[i].takes_m3_s > 0.0) {
                json_.open_element(layout_.tees[i].id);
                write_taken(course_.tees[i]);
            }
        }
        json_.end_array();
        json_.open_list("pipes");
        for (std::size_t i = 0; i < course_.pipes.size(); ++i) {
            json_.open_element(layout_.pipes[i].id);
            json_.entry("net_m3", course_.pipes[i].net_m3);
            json_.entry("backward_m3", course_.pipes[i].backward_m3);
            json_.entry("greatest_flow_m3_s", course_.pipes[i].greatest_flow_m3_s);
            json_.end_object();
        }
        json_.end_array();
    }

    void write_events() {
        json_.open_list("events");
        for (const time::Event& event : course_.events) {
            json_.new_line();
            json_.begin_object();
            json_.entry("t_s", event.t_s);
            json_.entry("code", time::name_of(event.what));
            json_.entry("about", event.about_id);
            json_.entry("says", sentence_of(layout_, event));
            json_.entry("because", event.because);
            json_.entry("level_m", event.level_m);
            json_.end_object();
        }
        json_.end_array();
    }

    void write_accuracy() {
        json_.new_line();
        json_.entry("water_m3", course_.water_m3);
        json_.entry("worst_water_error_m3", course_.worst_water_error_m3);
        json_.key("counts");
        json_.begin_object();
        json_.entry("steps", course_.counts.steps);
        json_.entry("restarts", course_.counts.restarts);
        json_.entry("network_solves", course_.counts.network_solves);
        json_.entry("newton_steps", course_.counts.newton_steps);
        json_.entry("slope_evaluations", course_.counts.slope_evaluations);
        json_.entry("fallbacks", course_.counts.fallbacks);
        json_.end_object();
    }

private:
    std::string_view repeat_word() const { return time::name_of(course_.repeat); }

    template <typename Things>
    void write_sources(const char* name, const Things& things, const std::vector<time::SourceCourse>& sources) {
        json_.open_list(name);
        for (std::size_t i = 0; i < sources.size(); ++i) {
            json_.open_element(things[i].id);
            json_.entry("given_m3", sources[i].given_m3);
            json_.end_object();
        }
        json_.end_array();
    }

    /// The rest of a draw or an uptake, and the end of its object.
    void write_taken(const time::TakenCourse& taken) {
        json_.entry("wanted_m3", taken.wanted_m3);
        json_.entry("taken_m3", taken.taken_m3);
        json_.entry("missing_m3", taken.missing_m3);
        json_.end_object();
    }

    JsonWriter& json_;
    const layout::Layout& layout_;
    const time::Plan& plan_;
    const time::Course& course_;
};

}  // namespace

void write_course(JsonWriter& json, const Subject& subject, const time::Plan& plan, const time::Course& course) {
    CourseJson writer(json, subject.layout, plan, course);
    writer.write_frame();
    writer.write_vessels();
    writer.write_beds();
    writer.write_pumps();
    writer.write_water();
    writer.write_events();
    writer.write_accuracy();
}

void write_events(JsonWriter& json, const Subject& subject, const time::Plan& plan, const time::Course& course) {
    CourseJson(json, subject.layout, plan, course).write_events();
}

}  // namespace ebb::cli
