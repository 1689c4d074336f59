// `pumps --format json`: SI with the unit in the key; money in the layout's currency.

#include <string>
#include <vector>

#include "cli/views/costing_json.h"
#include "cli/views/json_writer.h"
#include "cli/views/pumps_words.h"
#include "cli/words.h"
#include "solver/version.h"

namespace ebb::cli {

namespace {

std::size_t at(std::int32_t index) { return static_cast<std::size_t>(index); }

class PumpsJson {
public:
    PumpsJson(const PumpsScene& scene, Output& output) : layout_(scene.subject.layout), answer_(scene.answer), words_(scene), json_(output) {}

    void write() {
        json_.begin_object();
        json_.entry("ebbwright", kVersion);
        json_.entry("layout", layout_.name);
        json_.entry("interrupted", answer_.stopped);
        json_.entry("candidates_tried", answer_.tried);
        json_.entry("candidates_in_all", answer_.to_try);
        json_.key("arrangements");
        json_.begin_array();
        for (const std::int32_t a : answer_.arrangements) json_.value(words_.arrangement(a));
        json_.end_array();
        write_costing(layout_, answer_.costing, answer_.arrangements, json_);
        json_.open_list("pumps");
        for (const choose::PumpChoice& choice : answer_.pumps) pump(choice);
        json_.end_array();
        together();
        json_.open_list("standby");
        for (const choose::Standby& standby : answer_.standby) failures(standby);
        json_.end_array();
        besides();
        json_.end_object();
        json_.finish();
    }

private:
    void target(const settle::Target& target) {
        json_.begin_object();
        json_.entry("about", target.about);
        json_.entry("wants", wish_of(target));
        json_.entry("quantity", target.quantity);
        json_.entry("wanted", target.wanted);
        json_.entry("got", target.got);
        json_.end_object();
    }

    void targets(const char* name, const std::vector<settle::Target>& all) {
        json_.key(name);
        json_.begin_array();
        for (const settle::Target& one : all) target(one);
        json_.end_array();
    }

    void taken(const choose::HeadTaken& taken) {
        json_.key("takes_most_head");
        json_.begin_object();
        json_.text_or_null("pipe", taken.pipe < 0 ? "" : layout_.pipes[at(taken.pipe)].id);
        json_.text_or_null("filter", taken.filter < 0 ? "" : layout_.filters[at(taken.filter)].id);
        json_.text_or_null("valve", taken.valve < 0 ? "" : layout_.valves[at(taken.valve)].id);
        json_.entry("loss_m", taken.loss_m);
        json_.entry("whole_loss_m", taken.whole_loss_m);
        json_.end_object();
    }

    void duty(const choose::Duty& duty) {
        json_.open_element(words_.arrangement(duty.arrangement), "arrangement");
        json_.entry("outcome", name_of(duty.outcome));
        json_.entry("flow_m3_s", duty.flow_m3_s);
        json_.entry("head_m", duty.head_m);
        json_.entry("static_head_m", duty.static_head_m);
        json_.entry("npsh_available_m", duty.npsh_available_m);
        json_.entry("margin", duty.margin);
        json_.entry("met_without_it", duty.met_without);
        json_.entry("asked_m3_s", duty.asked_m3_s);
        json_.text_or_null("gets_most", duty.gets_most);
        json_.entry("most_share", duty.most_share);
        if (!duty.sets.about.empty()) {
            json_.key("set_by");
            target(duty.sets);
        }
        if (duty.outcome == choose::DutyOutcome::unreachable) {
            json_.entry("obstacle", name_of(duty.obstacle));
            json_.text_or_null("obstacle_at", duty.at);
            json_.entry("says", words_.unreachable(duty));
        }
        if (duty.taken.there()) taken(duty.taken);
        targets("not_of_this_pump", duty.apart);
        json_.end_object();
    }

    void point(const choose::CandidatePoint& point) {
        json_.open_element(words_.arrangement(point.arrangement), "arrangement");
        json_.entry("state", settle::name_of(point.state));
        json_.entry("speed", point.speed);
        json_.entry("flow_m3_s", point.pump.flow_m3_s);
        json_.entry("head_m", point.pump.head_m);
        json_.entry("power_w", point.pump.power_w);
        json_.entry("all_pumps_power_w", point.all_power_w);
        json_.entry("efficiency", point.pump.efficiency);
        json_.entry("best_point_ratio", point.pump.best_point_ratio);
        json_.entry("npsh_available_m", point.pump.npsh_available_m);
        json_.entry("npsh_required_m", point.pump.npsh_required_m);
        json_.entry("margin", point.margin);
        targets("missed", point.missed);
        json_.end_object();
    }

    void points(const char* name, const std::vector<choose::CandidatePoint>& all) {
        if (all.empty()) return;
        json_.open_list(name);
        for (const choose::CandidatePoint& one : all) point(one);
        json_.end_array();
    }

    void reason(const choose::Reason& reason) {
        json_.key("reason");
        json_.begin_object();
        json_.entry("code", name_of(reason.fault));
        json_.text_or_null("arrangement", words_.arrangement(reason.arrangement));
        json_.text_or_null("routine", reason.routine < 0 ? "" : layout_.routines[at(reason.routine)].name);
        if (!reason.target.about.empty()) {
            json_.key("target");
            target(reason.target);
        }
        json_.entry("flow_m3_s", reason.flow_m3_s);
        json_.entry("head_m", reason.head_m);
        json_.entry("needed_head_m", reason.needed_head_m);
        json_.entry("says", words_.reason(reason));
        json_.end_object();
    }

    void beds(const std::vector<choose::BedInTime>& all) {
        json_.key("beds");
        json_.begin_array();
        for (const choose::BedInTime& bed : all) {
            json_.begin_object();
            json_.entry("routine", layout_.routines[at(bed.routine)].name);
            json_.entry("id", layout_.vessels[at(bed.vessel)].id);
            json_.entry("quantity", bed.fills ? "fill_s" : "drain_s");
            json_.entry("wanted", bed.wanted_s);
            json_.entry("got", bed.got_s);
            json_.entry("met", bed.met);
            json_.end_object();
        }
        json_.end_array();
    }

    void candidate(const choose::Candidate& one) {
        json_.entry("model", words_.model(one.model));
        json_.entry("count", one.count);
        json_.entry("speed_mode", name_of(one.mode));
        json_.entry("speed", one.speed);
        json_.entry("standing", name_of(one.standing));
        json_.entry("as_it_is_now", one.present);
        json_.entry("price", one.price);
        json_.entry("energy_kwh_year", one.energy_kwh_year);
        json_.entry("all_pumps_energy_kwh_year", one.all_energy_kwh_year);
        json_.entry("energy_cost_year", one.energy_cost_year);
        json_.entry("life_cycle_cost", one.life_cycle_cost);
        json_.entry("least_margin", one.least_margin);
        json_.entry("least_npsh_spare_m", one.least_npsh_spare_m);
        json_.entry("least_npsh_ratio", one.least_npsh_ratio);
        if (one.reason.fault != choose::Fault::none) reason(one.reason);
        json_.key("doubts");
        json_.begin_array();
        for (const choose::DoubtAt& doubt : one.doubts) {
            json_.begin_object();
            json_.entry("code", name_of(doubt.doubt));
            json_.entry("arrangement", words_.arrangement(doubt.arrangement));
            json_.entry("value", doubt.value);
            json_.entry("says", words_.doubt(doubt));
            json_.end_object();
        }
        json_.end_array();
        json_.entry("routines_followed", one.followed);
        beds(one.beds);
        points("points", one.points);
        points("points_low", one.points_low);
        points("points_high", one.points_high);
    }

    void pump(const choose::PumpChoice& choice) {
        json_.open_element(words_.pump(choice.pump));
        const choose::Candidate* winner = choice.winner();
        json_.text_or_null("winner", winner == nullptr ? "" : words_.put_and_speed(*winner));
        json_.open_list("duties");
        for (const choose::Duty& one : choice.duties) duty(one);
        json_.end_array();
        json_.open_list("candidates");
        int rank = 0;
        for (const choose::Candidate& one : choice.candidates) {
            json_.new_line();
            json_.begin_object();
            json_.entry("rank", ++rank);
            candidate(one);
            json_.end_object();
        }
        json_.end_array();
        json_.new_line();
        json_.key("as_it_is");
        json_.begin_object();
        candidate(choice.as_it_is);
        json_.end_object();
        json_.end_object();
    }

    void together() {
        if (!answer_.together.done) return;
        const choose::Together& all = answer_.together;
        json_.new_line();
        json_.key("together");
        json_.begin_object();
        json_.entry("all_met", all.all_met);
        json_.entry("rounds", all.rounds);
        json_.entry("chosen_anew", all.chosen_anew);
        json_.entry("price", all.price);
        json_.entry("energy_kwh_year", all.energy_kwh_year);
        json_.entry("life_cycle_cost", all.life_cycle_cost);
        json_.open_list("arrangements");
        for (const auto& one : all.arrangements) {
            json_.open_element(words_.arrangement(one.arrangement), "arrangement");
            json_.entry("state", settle::name_of(one.state));
            json_.entry("margin", one.margin);
            targets("missed", one.missed);
            json_.end_object();
        }
        json_.end_array();
        json_.end_object();
    }

    void ids(const char* name, const std::vector<std::int32_t>& indices, const auto& things) {
        json_.key(name);
        json_.begin_array();
        for (const std::int32_t index : indices) json_.value(things[at(index)].id);
        json_.end_array();
    }

    void failures(const choose::Standby& standby) {
        json_.new_line();
        json_.begin_object();
        json_.entry("with", standby.of_winners ? "winners" : "as-it-is");
        ids("without_check_valve", standby.without_check_valve, layout_.pumps);
        json_.open_list("failures");
        for (const choose::Failed& one : standby.cases) {
            json_.open_element(words_.pump(one.pump), "pump");
            json_.entry("arrangement", words_.arrangement(one.arrangement));
            json_.entry("still_run", one.left);
            json_.entry("ran", one.ran);
            json_.entry("state", settle::name_of(one.state));
            json_.entry("flow_before_m3_s", one.flow_before_m3_s);
            json_.entry("flow_after_m3_s", one.flow_after_m3_s);
            targets("unmet", one.unmet);
            ids("without_water", one.without_water, layout_.vessels);
            ids("spill", one.spills, layout_.vessels);
            ids("bare", one.bare, layout_.pumps);
            json_.end_object();
        }
        json_.end_array();
        json_.end_object();
    }

    void besides() {
        json_.open_list("beside");
        for (const choose::Beside& one : answer_.beside) {
            json_.open_element(words_.arrangement(one.arrangement), "arrangement");
            json_.entry("state", settle::name_of(one.state));
            targets("missed", one.missed);
            ids("spill", one.spills, layout_.vessels);
            json_.end_object();
        }
        json_.end_array();
        json_.key("routines_not_followed");
        json_.begin_array();
        for (const std::int32_t routine : answer_.routines_not_followed) json_.value(layout_.routines[at(routine)].name);
        json_.end_array();
    }

    const layout::Layout& layout_;
    const choose::PumpsAnswer& answer_;
    PumpsWords words_;
    JsonWriter json_;
};

}  // namespace

void write_pumps_json(const PumpsScene& scene, Output& output) { PumpsJson(scene, output).write(); }

}  // namespace ebb::cli
