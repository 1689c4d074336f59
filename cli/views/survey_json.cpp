// `survey` as JSON: the contract of docs/commands.md. The same names as the layout, SI, the unit in the key; a combination is its number and
// what is off in it.

#include <bit>
#include <cmath>
#include <initializer_list>
#include <utility>

#include "cli/views/json_writer.h"
#include "cli/views/survey_view.h"
#include "cli/words.h"
#include "solver/version.h"

namespace ebb::cli {

namespace {

using survey::Extreme;
using survey::Range;
using survey::Tally;

std::size_t at(std::int32_t index) { return static_cast<std::size_t>(index); }

class SurveyJson {
public:
    SurveyJson(const SurveyScene& scene, Output& output)
        : scene_(scene), layout_(scene.subject.layout), statistics_(scene.statistics), json_(output) {}

    void write() {
        json_.begin_object();
        json_.entry("ebbwright", kVersion);
        json_.entry("layout", layout_.name);
        json_.new_line();
        json_.key("survey");
        json_.begin_object();
        question();
        counts();
        vessels();
        pumps();
        tees();
        targets();
        worst();
        again();
        json_.end_object();
        json_.end_object();
        json_.finish();
    }

private:
    void combination(std::string_view key, std::uint64_t number) {
        json_.key(key);
        if (number == survey::kNoCombination) {
            json_.value(std::nan(""));
            return;
        }
        json_.begin_object();
        json_.entry("number", number);
        json_.key("off");
        json_.begin_array();
        for (const std::string& id : things_off(scene_, number)) json_.value(id);
        json_.end_array();
        json_.end_object();
    }
    /// "least_inflow_m3_s":0.0002,"least_inflow_with":{"number":3,"off":["VB1","VB2"]}
    void extreme(const std::string& name, const std::string& unit, const Extreme& value) {
        json_.entry(name + unit, value.there() ? value.value : std::nan(""));
        combination(name + "_with", value.combination);
    }
    void range(const std::string& name, const std::string& unit, const Range& value) {
        extreme("least_" + name, unit, value.least);
        combination("least_" + name + "_plainly_with", value.plain_least.named.combination);
        extreme("greatest_" + name, unit, value.greatest);
        combination("greatest_" + name + "_plainly_with", value.plain_greatest.named.combination);
    }
    void tally(std::string_view times, std::string_view first, const Tally& value) {
        json_.entry(times, value.times);
        combination(first, value.first);
    }
    /// "intake-bare":{"combinations":3,"first":{...}}
    void alarm(std::string_view code, const Tally& value) {
        json_.new_line();
        json_.key(code);
        json_.begin_object();
        tally("combinations", "first", value);
        json_.end_object();
    }
    void alarms(std::initializer_list<std::pair<survey::Alarm, const Tally*>> of) {
        json_.key("alarms");
        json_.begin_object();
        for (const auto& [bit, value] : of) alarm(code_of(bit), *value);
        json_.end_object();
    }
    template <typename Values>
    void list(std::string_view key, const Values& values) {
        json_.key(key);
        json_.begin_array();
        for (const auto& value : values) json_.value(value);
        json_.end_array();
    }

    void question() {
        json_.entry("arrangement", scene_.arrangement);
        json_.entry("levels", scene_.question.at_start_levels ? "start" : "settled");
        json_.open_list("switches");
        for (const survey::Switch& one : scene_.question.switches) {
            json_.open_element(switch_id(layout_, one));
            json_.entry("kind", layout::name_of(one.thing.kind));
            if (one.thing.kind == layout::Kind::standpipe) {
                const layout::Standpipe& standpipe = layout_.standpipes[at(one.thing.index)];
                json_.entry("on", standpipe.inserts[at(scene_.question.arrangement.insert[at(one.thing.index)])].name);
                json_.entry("off", standpipe.inserts[at(one.other_insert)].name);
            }
            json_.end_object();
        }
        json_.end_array();
        json_.new_line();
        json_.key("at_most_off");
        if (scene_.question.at_most_off < 0)
            json_.value(std::nan(""));
        else
            json_.value(scene_.question.at_most_off);
        json_.entry("combinations", scene_.asked());
        json_.entry("done", statistics_.rows);
    }

    void counts() {
        json_.new_line();
        json_.key("states");
        json_.begin_object();
        for (const settle::State state : {settle::State::settled, settle::State::given_levels, settle::State::cycles, settle::State::spills_until_dry,
                                          settle::State::no_solution}) {
            const Tally& value = statistics_.states.at(static_cast<std::size_t>(state));
            json_.new_line();
            json_.key(settle::name_of(state));
            json_.begin_object();
            tally("combinations", "first", value);
            json_.end_object();
        }
        json_.end_object();
        json_.new_line();
        json_.key("alarms");
        json_.begin_object();
        for (const AlarmName& name : kAlarmNames)
            alarm(name.code, statistics_.alarms.at(static_cast<std::size_t>(std::countr_zero(unsigned{name.bit}))));
        json_.end_object();
        json_.new_line();
        json_.entry("all_targets_met", statistics_.all_met.times);
        json_.entry("solved_singly", statistics_.alarms.at(static_cast<std::size_t>(std::countr_zero(unsigned{survey::kSolvedAlone}))).times);
    }

    void vessels() {
        json_.open_list("vessels");
        for (std::size_t v = 0; v < statistics_.vessels.size(); ++v) {
            const survey::VesselStatistics& vessel = statistics_.vessels[v];
            json_.open_element(layout_.vessels[v].id);
            json_.entry("kind", layout::name_of(layout_.vessels[v].kind));
            json_.entry("fed", vessel.fed.times);
            json_.entry("fed_without_water", vessel.nothing.times);
            json_.entry("all_on_inflow_m3_s", vessel.inflow_alone.back());
            json_.entry("typical_inflow_m3_s", vessel.inflows().median());
            range("inflow", "_m3_s", vessel.inflow_m3_s);
            range("turnover", "_s", vessel.turnover_s);
            range("depth", "_m", vessel.depth_m);
            alarms({{survey::kBelowLeast, &vessel.below_least}, {survey::kSpills, &vessel.spills}});
            json_.entry("spills", vessel.spills.times);
            extreme("greatest_spill", "_m3_s", vessel.spill_m3_s);
            extreme("greatest_spilled", "_m3", vessel.spilled_m3);
            json_.open_list("by_number_off");
            for (std::size_t k = 0; k < vessel.inflow_at.size(); ++k) {
                json_.begin_object();
                json_.entry("off", k);
                json_.entry("fed", vessel.inflow_at[k].count());
                json_.entry("least_inflow_m3_s", vessel.least_inflow_at[k]);
                json_.entry("typical_inflow_m3_s", vessel.inflow_at[k].median());
                json_.end_object();
            }
            json_.end_array();
            json_.open_list("by_switch");
            for (std::size_t s = 0; s < scene_.question.switches.size(); ++s) {
                json_.begin_object();
                json_.entry("id", switch_id(layout_, scene_.question.switches[s]));
                json_.entry("least_inflow_on_m3_s", vessel.least_with_on[s]);
                json_.entry("least_inflow_off_m3_s", vessel.least_with_off[s]);
                json_.entry("inflow_alone_off_m3_s", vessel.inflow_alone[s]);
                json_.end_object();
            }
            json_.end_array();
            json_.end_object();
        }
        json_.end_array();
    }

    void pumps() {
        json_.open_list("pumps");
        for (std::size_t p = 0; p < statistics_.pumps.size(); ++p) {
            const survey::PumpStatistics& pump = statistics_.pumps[p];
            json_.open_element(layout_.pumps[p].id);
            json_.entry("runs", pump.runs.times);
            json_.entry("below_best", pump.below_best.times);
            json_.entry("above_best", pump.above_best.times);
            json_.entry("runs_without_flow", pump.nothing.times);
            alarms({{survey::kIntakeBare, &pump.bare}, {survey::kBeyondCurve, &pump.beyond}, {survey::kAgainstShut, &pump.shut}});
            json_.entry("typical_flow_m3_s", pump.flows.median());
            range("flow", "_m3_s", pump.flow_m3_s);
            range("head", "_m", pump.head_m);
            range("power", "_w", pump.power_w);
            range("best_point_ratio", "", pump.best_ratio);
            json_.end_object();
        }
        json_.end_array();
    }

    void tees() {
        json_.open_list("tees");
        for (std::size_t t = 0; t < statistics_.tees.size(); ++t) {
            const survey::TeeStatistics& tee = statistics_.tees[t];
            json_.open_element(layout_.tees[t].id);
            alarms({{survey::kBelowVapour, &tee.breaks}, {survey::kUnderVacuum, &tee.vacuum}});
            extreme("least_pressure", "_m", tee.pressure_m);
            json_.end_object();
        }
        json_.end_array();
    }

    void targets() {
        json_.open_list("targets");
        for (std::size_t t = 0; t < scene_.targets.size(); ++t) {
            const survey::TargetStatistics& target = statistics_.targets[t];
            const settle::Target wish = target_of(scene_, t, target.worst_got);
            json_.new_line();
            json_.begin_object();
            json_.entry("about", wish.about);
            json_.entry("wants", wish_of(wish));
            json_.entry("met", target.met);
            json_.entry("missed", target.missed.times);
            json_.entry("not_asked", target.not_asked);
            json_.entry("unknown", target.unknown);
            list("first_missed", target.first_missed);
            json_.entry("worst_got", target.worst_got);
            json_.entry("worst_shortfall", target.shortfall.value);
            combination("worst_with", target.shortfall.named.combination);
            json_.end_object();
        }
        json_.end_array();
    }

    void worst() {
        json_.open_list("worst");
        for (const survey::BadCombination& bad : statistics_.worst) {
            json_.new_line();
            json_.begin_object();
            json_.entry("runs_dry", bad.runs_dry);
            json_.entry("troubles", bad.troubles);
            json_.entry("targets_missed", bad.missed);
            json_.entry("shortfall", bad.shortfall);
            combination("combination", bad.combination);
            json_.end_object();
        }
        json_.end_array();
    }

    void again() {
        json_.new_line();
        json_.key("solved_again");
        json_.begin_object();
        json_.entry("combinations", scene_.again.answers.size());
        json_.entry("figures", scene_.again.figures);
        json_.entry("worst_difference", scene_.again.worst_difference);
        combination("worst_with", scene_.again.worst_combination);
        json_.end_object();
    }

    const SurveyScene& scene_;
    const layout::Layout& layout_;
    const survey::Statistics& statistics_;
    JsonWriter json_;
};

}  // namespace

void write_survey_json(const SurveyScene& scene, Output& output) { SurveyJson(scene, output).write(); }

}  // namespace ebb::cli
