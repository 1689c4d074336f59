// `pipes --format json`: SI with the unit in the key; money in the layout's currency.

#include <string>

#include "cli/views/costing_json.h"
#include "cli/views/json_writer.h"
#include "cli/views/pipes_words.h"
#include "solver/version.h"

namespace ebb::cli {

namespace {

std::size_t at(std::int32_t index) { return static_cast<std::size_t>(index); }

class PipesJson {
public:
    PipesJson(const PipesScene& scene, Output& output)
        : notes_(scene.notes), layout_(scene.subject.layout), answer_(scene.answer), words_(scene), json_(output) {}

    void write() {
        json_.begin_object();
        json_.entry("ebbwright", kVersion);
        json_.entry("layout", layout_.name);
        json_.entry("interrupted", answer_.stopped);
        json_.key("arrangements");
        json_.begin_array();
        for (const std::int32_t a : answer_.problem.arrangements) json_.value(words_.arrangement(a));
        json_.end_array();
        json_.key("notes");
        json_.begin_array();
        for (const std::string& note : notes_) json_.value(note);
        json_.end_array();
        write_costing(layout_, answer_.problem.costing, answer_.problem.arrangements, json_);
        search();
        if (answer_.result.found) {
            verdict("chosen", answer_.result.verdict);
        } else {
            verdict("nearest", answer_.result.verdict);
            verdict("largest", answer_.largest);
            why_none();
        }
        verdict("drawn", answer_.drawn);
        times();
        findings();
        sizes();
        enlargements();
        trade_off();
        json_.end_object();
        json_.finish();
    }

private:
    void search() {
        json_.new_line();
        json_.entry("found", answer_.result.found);
        json_.entry("choices", answer_.problem.choices.size());
        json_.entry("designs", choose::number_of_designs(answer_.problem));
        json_.entry("designs_tried", answer_.result.evaluations);
        json_.entry("all_looked_at", answer_.result.exact);
        json_.entry("proven", answer_.proven);
        json_.entry("lower_bound", answer_.proven || answer_.bounded ? answer_.lower_bound : layout::kNotSaid);
    }

    void verdict(const char* name, const choose::Verdict& one) {
        json_.new_line();
        json_.key(name);
        json_.begin_object();
        json_.entry("solved", one.solved);
        json_.entry("allowed", one.allowed);
        json_.entry("pipes_cost", one.pipes_cost);
        json_.entry("energy_kwh_year", one.energy_a_year_kwh);
        json_.entry("power_known", one.power_known);
        json_.entry("life_cycle_cost", one.total_cost);
        json_.entry("least_margin", one.worst_margin);
        json_.entry("least_target_margin", one.targets_margin);
        json_.open_list("judgements");
        for (const choose::Judgement& judgement : one.judgements) judged(judgement);
        json_.end_array();
        json_.end_object();
    }

    void judged(const choose::Judgement& one) {
        json_.open_element(one.about, "about");
        json_.entry("arrangement", words_.arrangement(one.arrangement));
        json_.entry("quantity", one.quantity);
        json_.entry("kind", one.is_limit ? "limit" : "target");
        json_.entry("at_most", one.at_most);
        json_.entry("wanted", one.wanted);
        json_.entry("got", one.got);
        json_.entry("met", one.met);
        json_.entry("margin", one.margin);
        json_.end_object();
    }

    void why_none() {
        json_.new_line();
        json_.key("why");
        json_.begin_array();
        for (const std::string& says : words_.infeasible()) json_.value(says);
        json_.end_array();
    }

    void times() {
        const choose::TimesKept& times = answer_.times;
        json_.new_line();
        json_.entry("routines_followed", times.followed);
        json_.entry("rounds_for_times", times.rounds);
        json_.entry("cost_without_times", times.cost_without);
        beds("beds", times.chosen);
        beds("drawn_beds", times.drawn);
    }

    void beds(const char* name, const std::vector<choose::BedInTime>& all) {
        json_.open_list(name);
        for (const choose::BedInTime& bed : all) {
            json_.open_element(layout_.vessels[at(bed.vessel)].id, "id");
            json_.entry("routine", layout_.routines[at(bed.routine)].name);
            json_.entry("quantity", bed.fills ? "fill_s" : "drain_s");
            json_.entry("wanted", bed.wanted_s);
            json_.entry("got", bed.got_s);
            json_.entry("met", bed.met);
            json_.end_object();
        }
        json_.end_array();
    }

    void findings() {
        json_.open_list("findings");
        if (answer_.result.found)
            for (const auto& found : {words_.times(), words_.findings()})
                for (const Finding& one : found) {
                    json_.open_element(one.about, "about");
                    json_.entry("code", one.code);
                    json_.entry("weight", one.weight == Weight::trouble ? "trouble" : "doubt");
                    json_.entry("says", one.says);
                    json_.end_object();
                }
        json_.end_array();
    }

    void sizes() {
        json_.open_list("sizes");
        for (const choose::ChosenSize& size : answer_.sizes) {
            const choose::Choice& choice = answer_.problem.choices[size.choice];
            json_.open_element(choice.name, "choice");
            json_.entry("size", words_.size_name(choice, size.option));
            json_.entry("bore_m", choice.bore_m(layout_, size.option));
            json_.text_or_null("drawn_size", size.drawn_size);
            json_.entry("drawn_bore_m", size.drawn_bore_m);
            json_.entry("changed", size.changed);
            json_.entry("length_m", size.length_m);
            json_.entry("cost", size.cost);
            json_.entry("flow_m3_s", size.flow_m3_s);
            json_.entry("velocity_m_s", size.velocity_m_s);
            json_.text_or_null("quickest_in", size.quickest_in < 0 ? "" : words_.arrangement(size.quickest_in));
            json_.entry("fill_ratio", size.fill_ratio);
            json_.text_or_null("fullest_in", size.fullest_in < 0 ? "" : words_.arrangement(size.fullest_in));
            json_.key("pipes");
            json_.begin_array();
            for (const std::int32_t p : choice.pipes) json_.value(layout_.pipes[at(p)].id);
            json_.end_array();
            json_.end_object();
        }
        json_.end_array();
    }

    void enlargements() {
        json_.open_list("enlargements");
        for (const choose::Enlargement& one : answer_.enlargements) {
            const choose::Choice& choice = answer_.problem.choices[one.choice];
            json_.open_element(choice.name, "choice");
            json_.entry("size", words_.size_name(choice, one.option));
            json_.entry("more_cost", one.more_cost);
            json_.entry("more_margin", one.more_margin);
            json_.end_object();
        }
        json_.end_array();
    }

    void trade_off() {
        json_.open_list("trade_off");
        for (const choose::TradeOffPoint& point : answer_.trade_off) {
            json_.new_line();
            json_.begin_object();
            json_.entry("margin", point.margin);
            json_.entry("found", point.found);
            json_.entry("life_cycle_cost", point.found ? point.verdict.total_cost : layout::kNotSaid);
            json_.entry("least_target_margin", point.found ? point.verdict.targets_margin : layout::kNotSaid);
            json_.key("sizes");
            json_.begin_array();
            for (std::size_t c = 0; point.found && c < point.design.size(); ++c)
                json_.value(words_.size_name(answer_.problem.choices[c], point.design[c]));
            json_.end_array();
            json_.end_object();
        }
        json_.end_array();
    }

    const std::vector<std::string>& notes_;
    const layout::Layout& layout_;
    const choose::SizingAnswer& answer_;
    PipesWords words_;
    JsonWriter json_;
};

}  // namespace

void write_pipes_json(const PipesScene& scene, Output& output) { PipesJson(scene, output).write(); }

}  // namespace ebb::cli
