// `diagnose --format json`: SI with the unit in the key where a quantity has one; what is read is named by "quantity".

#include <algorithm>
#include <cmath>

#include "cli/views/diagnose_view.h"
#include "cli/views/json_writer.h"
#include "solver/version.h"

namespace ebb::cli {

namespace {

using diagnose::Explanation;
using diagnose::Quantity;

std::size_t at(std::int32_t index) { return static_cast<std::size_t>(index); }

/// Name and SI unit in one, as keys of the contract are written.
const char* quantity_name(Quantity quantity) {
    switch (quantity) {
        case Quantity::depth: return "depth_m";
        case Quantity::flow: return "flow_m3_s";
        case Quantity::pressure: return "pressure_head_m";
        case Quantity::fall_time: return "fall_time_s";
        case Quantity::rise_time: return "rise_time_s";
        case Quantity::spills: return "spills";
        case Quantity::overflows: return "overflows";
        case Quantity::siphon: return "siphon";
        case Quantity::moves: return "level_moves";
        case Quantity::draws_air: return "draws_air";
    }
    return "";
}

class DiagnoseJson {
public:
    DiagnoseJson(const DiagnoseScene& scene, Output& output) : scene_(scene), words_(scene.words), diagnosis_(scene.diagnosis), json_(output) {}

    void write() {
        json_.begin_object();
        json_.entry("ebbwright", kVersion);
        json_.entry("layout", scene_.subject.layout.name);
        json_.entry("readings_name", scene_.readings_name);
        json_.entry("verdict", name_of(diagnosis_.verdict));
        sentences("says", diagnose_verdict(scene_));
        sentences("doubts", readings_doubts(scene_));
        readings();
        explanations();
        ties();
        next();
        ruled_out();
        contradictions();
        json_.entry("pairs_tried", diagnosis_.pairs_tried);
        json_.entry("interrupted", diagnosis_.interrupted);
        json_.entry("layout_is_exact", scene_.exact);
        json_.entry("unknowns", scene_.unknowns);
        json_.entry("considered", diagnosis_.considered);
        json_.entry("silent", diagnosis_.silent);
        json_.entry("network_solves", diagnosis_.solves);
        json_.end_object();
        json_.finish();
    }

private:
    void sentences(const char* key, const std::vector<std::string>& list) {
        json_.new_line();
        json_.key(key);
        json_.begin_array();
        for (const std::string& sentence : list) json_.value(sentence);
        json_.end_array();
    }

    void begin_line() {
        json_.new_line();
        json_.begin_object();
    }

    void what(const diagnose::Observable& observable) {
        json_.entry("quantity", quantity_name(observable.quantity));
        json_.entry("of", words_.id(observable.of));
        json_.entry("arrangement", words_.arrangement(observable.visit));
        if (layout::said(observable.from_m)) {
            json_.entry("from_m", observable.from_m);
            json_.entry("to_m", observable.to_m);
        }
    }

    void readings() {
        json_.open_list("readings");
        for (std::size_t i = 0; i < scene_.readings.readings.size(); ++i) {
            const diagnose::Reading& reading = scene_.readings.readings[i];
            begin_line();
            what(reading.what);
            json_.entry("read", reading.value);
            json_.entry("standard_deviation", diagnose::is_glance(reading.what.quantity) ? settle::kUnknown : reading.sigma);
            json_.entry("nothing_comes_near",
                        std::find(diagnosis_.impossible.begin(), diagnosis_.impossible.end(), i) != diagnosis_.impossible.end());
            json_.key("place");
            write_place(json_, scene_.readings_files, reading.place);
            json_.end_object();
        }
        json_.end_array();
    }

    void predicted(const char* key, const std::vector<diagnose::Predicted>& list) {
        json_.key(key);
        json_.begin_array();
        for (const diagnose::Predicted& one : list) json_.value(one.value);
        json_.end_array();
    }

    void fault(const diagnose::Fault& fault, const diagnose::SizeRange* size) {
        json_.begin_object();
        json_.entry("kind", diagnose::data_of(fault.kind).name);
        json_.entry("at", words_.id(fault.at));
        json_.text_or_null("other", fault.other.index >= 0 ? words_.id(fault.other) : "");
        if (fault.which >= 0) json_.entry("which", fault.which);
        if (size != nullptr && fault.sized()) {
            json_.entry("size", size->best);
            json_.entry("size_low", std::min(size->low, size->high));
            json_.entry("size_high", std::max(size->low, size->high));
            json_.text_or_null("size_unit", diagnose::data_of(fault.kind).unit);
        }
        json_.entry("chance", fault.chance);
        json_.end_object();
    }

    void explanations() {
        json_.open_list("explanations");
        for (const Explanation& one : diagnosis_.explanations) {
            begin_line();
            json_.entry("says", explanation_sentence(scene_, one));
            json_.key("faults");
            json_.begin_array();
            for (std::size_t k = 0; k < one.faults.size(); ++k) fault(scene_.signatures.faults()[one.faults[k]], &one.sizes[k]);
            json_.end_array();
            json_.entry("probability", one.probability);
            json_.entry("chi_squared", one.chi_squared);
            json_.entry("fits", one.fits);
            json_.key("misread");
            if (one.misread < 0)
                json_.value(settle::kUnknown);
            else
                json_.value(one.misread);
            predicted("predicted", one.predicted);
            json_.key("pulls");
            json_.begin_array();
            for (const double pull : one.pulls) json_.value(pull);
            json_.end_array();
            json_.end_object();
        }
        json_.end_array();
    }

    void ties() {
        json_.open_list("ties");
        for (const diagnose::Tie& tie : diagnosis_.ties) {
            begin_line();
            json_.entry("probability", tie.probability);
            json_.key("explanations");
            json_.begin_array();
            for (const std::size_t e : tie.explanations) json_.value(e);
            json_.end_array();
            json_.end_object();
        }
        json_.end_array();
    }

    void next() {
        json_.open_list("next");
        for (const diagnose::NextReading& one : diagnosis_.next) {
            begin_line();
            what(scene_.signatures.observables()[one.observable]);
            json_.entry("says", words_.way_to_read(scene_.signatures.observables()[one.observable]));
            json_.entry("takes_s", one.cost_s);
            json_.entry("separates", one.separates);
            predicted("predicted", one.predicted);
            json_.end_object();
        }
        json_.end_array();
    }

    void ruled_out() {
        json_.open_list("ruled_out");
        for (const diagnose::RuledOut& one : diagnosis_.ruled_out) {
            begin_line();
            json_.key("fault");
            fault(scene_.signatures.faults()[one.fault], nullptr);
            json_.entry("best_size", one.best);
            json_.entry("reading", one.reading);
            json_.entry("predicted", one.predicted);
            json_.entry("read", scene_.readings.readings[at(one.reading)].value);
            json_.entry("pull", one.pull);
            json_.end_object();
        }
        json_.end_array();
    }

    void contradictions() {
        json_.open_list("contradictions");
        for (const diagnose::Contradiction& one : diagnosis_.contradictions) {
            begin_line();
            json_.entry("reading", one.one);
            json_.entry("other", one.other);
            json_.end_object();
        }
        json_.end_array();
    }

    const DiagnoseScene& scene_;
    const DiagnoseWords& words_;
    const diagnose::Diagnosis& diagnosis_;
    JsonWriter json_;
};

}  // namespace

void write_diagnose_json(const DiagnoseScene& scene, Output& output) { DiagnoseJson(scene, output).write(); }

}  // namespace ebb::cli
