// `balance --format json`: SI with the unit in the key.

#include "cli/views/balance_view.h"
#include "cli/views/json_writer.h"
#include "cli/words.h"
#include "solver/version.h"

namespace ebb::cli {

namespace {

using choose::BalancedOutlet;

std::size_t at(std::int32_t index) { return static_cast<std::size_t>(index); }

class BalanceJson {
public:
    BalanceJson(const BalanceScene& scene, Output& output) : scene_(scene), layout_(scene.subject.layout), answer_(scene.answer), json_(output) {}

    void write() {
        json_.begin_object();
        json_.entry("ebbwright", kVersion);
        json_.entry("layout", layout_.name);
        json_.entry("outcome", name_of(answer_.outcome));
        json_.text_or_null("why", answer_.why);
        json_.entry("worst_deviation", answer_.worst_deviation);
        json_.entry("spare", answer_.spare);
        json_.entry("throttled_m", answer_.throttled_m);
        json_.entry("bucket_m3", scene_.bucket_m3);
        worst();
        missing();
        by_hand();
        sentences("missed_beside", missed_beside(scene_));
        sentences("left_alone", left_alone_sentences(scene_));
        warnings();
        valves();
        pumps();
        steps();
        arrangements();
        sentences("notes", balance_notes(scene_));
        json_.entry("positions_tried", answer_.positions_tried);
        json_.entry("network_solves", answer_.network_solves);
        json_.end_object();
        json_.finish();
    }

private:
    const std::string& arrangement(std::int32_t index) const { return layout_.arrangements[at(index)].name; }
    std::string vessel(std::int32_t index) const { return index < 0 ? std::string() : layout_.vessels[at(index)].id; }

    void worst() {
        json_.new_line();
        json_.key("worst");
        json_.begin_object();
        const BalancedOutlet* outlet = answer_.worst_outlet < 0 ? nullptr : &answer_.outlets[at(answer_.worst_outlet)];
        json_.text_or_null("about", outlet == nullptr ? "" : vessel(outlet->vessel));
        json_.text_or_null("arrangement", outlet == nullptr ? "" : arrangement(outlet->arrangement));
        json_.entry("wanted_m3_s", outlet == nullptr ? settle::kUnknown : outlet->wanted_m3_s);
        json_.entry("got_m3_s", outlet == nullptr ? settle::kUnknown : outlet->got_m3_s);
        json_.text_or_null("says", worst_sentence(scene_));
        json_.end_object();
    }

    /// null where no water is missing.
    void missing() {
        const choose::MissingWater& missing = answer_.missing;
        json_.new_line();
        json_.key("missing");
        if (missing.vessel < 0) {
            json_.value(settle::kUnknown);
            return;
        }
        json_.begin_object();
        json_.entry("about", vessel(missing.vessel));
        json_.entry("arrangement", arrangement(missing.arrangement));
        json_.entry("greatest_share", missing.greatest_share);
        json_.text_or_null("pump", missing.pump < 0 ? "" : layout_.pumps[at(missing.pump)].id);
        json_.entry("needed_flow_m3_s", missing.needed_flow_m3_s);
        json_.entry("needed_head_m", missing.needed_head_m);
        json_.entry("given_head_m", missing.given_head_m);
        json_.entry("shared_setting", missing.shared_setting);
        json_.entry("alone_m3_s", missing.alone_m3_s);
        json_.text_or_null("worst_pipe", missing.worst_pipe < 0 ? "" : layout_.pipes[at(missing.worst_pipe)].id);
        json_.entry("worst_pipe_loss_m", missing.worst_pipe_loss_m);
        std::string says;
        for (const std::string& sentence : missing_sentences(scene_)) says += (says.empty() ? "" : " ") + sentence;
        json_.entry("says", says);
        json_.end_object();
    }

    void valves() {
        json_.open_list("valves");
        for (const choose::BalancedValve& valve : answer_.valves) {
            const layout::Valve& own = layout_.valves[at(valve.valve)];
            json_.open_element(own.id);
            json_.entry("kind", physics::valve_kind_name(own.kind));
            json_.entry("pipe", layout_.pipes[at(own.pipe)].id);
            json_.entry("opening", valve.opening);
            json_.entry("fully_open", valve.opening >= 1.0);
            json_.entry("unsettable", valve.unsettable);
            json_.entry("on_the_way_to_an_outlet", valve.reaches_outlet);
            json_.entry("loss_coefficient", valve.loss_coefficient);
            json_.entry("flow_per_travel_m3_s", valve.flow_per_travel_m3_s);
            json_.key("arrangements");
            json_.begin_array();
            for (const choose::ValvePlace& place : valve.places) {
                json_.begin_object();
                json_.entry("name", arrangement(place.arrangement));
                json_.entry("shut", place.shut);
                json_.entry("opening_before", place.opening_before);
                json_.entry("flow_m3_s", place.flow_m3_s);
                json_.entry("drop_m", place.drop_m);
                json_.end_object();
            }
            json_.end_array();
            json_.end_object();
        }
        json_.end_array();
    }

    void pumps() {
        json_.open_list("pumps");
        for (const choose::BalancedPump& pump : answer_.pumps) {
            json_.open_element(layout_.pumps[at(pump.pump)].id);
            json_.entry("speed", pump.speed);
            json_.entry("speed_before", pump.speed_before);
            json_.entry("flow_m3_s", pump.flow_m3_s);
            json_.entry("head_m", pump.head_m);
            json_.entry("power_w", pump.power_w);
            json_.end_object();
        }
        json_.end_array();
    }

    void steps() {
        json_.open_list("steps");
        for (const choose::BalanceStep& step : answer_.steps) {
            json_.open_element(layout_.valves[at(step.valve)].id, "valve");
            json_.entry("flow_m3_s", step.flow_m3_s);
            json_.text_or_null("outlet", vessel(step.outlet));
            json_.entry("outlet_flow_m3_s", step.outlet_flow_m3_s);
            json_.entry("bucket_s", bucket_time(scene_.bucket_m3, step.outlet_flow_m3_s).seconds);
            json_.end_object();
        }
        json_.end_array();
    }

    void arrangements() {
        json_.open_list("arrangements");
        for (std::size_t i = 0; i < answer_.arrangements.size(); ++i) {
            json_.open_element(arrangement(answer_.arrangements[i]), "name");
            json_.text_or_null("state", i < answer_.answers.size() ? settle::name_of(answer_.answers[i].state) : "");
            json_.open_list("outlets");
            for (const BalancedOutlet& outlet : answer_.outlets)
                if (outlet.arrangement == answer_.arrangements[i]) write(outlet);
            json_.end_array();
            json_.end_object();
        }
        json_.end_array();
    }

    void write(const BalancedOutlet& outlet) {
        const BucketTime time = bucket_time(scene_.bucket_m3, outlet.got_m3_s);
        json_.open_element(vessel(outlet.vessel));
        json_.entry("aimed_at", outlet.aimed);
        json_.entry("wanted_m3_s", outlet.wanted_m3_s);
        json_.entry("got_m3_s", outlet.got_m3_s);
        json_.entry("share", outlet.share);
        json_.entry("before_m3_s", outlet.before_m3_s);
        json_.entry("throttled_on_the_way_m", outlet.path_throttle_m);
        json_.text_or_null("pump", outlet.pump < 0 ? "" : layout_.pumps[at(outlet.pump)].id);
        json_.key("valves");
        json_.begin_array();
        for (const std::int32_t valve : outlet.valves) json_.value(layout_.valves[at(valve)].id);
        json_.end_array();
        json_.entry("bucket_s", time.seconds);
        json_.entry("bucket_least_s", time.least_s);
        json_.entry("bucket_most_s", time.most_s);
        json_.end_object();
    }

    void sentences(const char* key, const std::vector<std::string>& all) {
        json_.open_list(key);
        for (const std::string& one : all) {
            json_.new_line();
            json_.value(one);
        }
        json_.end_array();
    }

    void by_hand() {
        json_.new_line();
        json_.key("by_hand");
        json_.begin_object();
        json_.text_or_null("about", vessel(answer_.by_hand.vessel));
        json_.text_or_null("arrangement", answer_.by_hand.arrangement < 0 ? "" : arrangement(answer_.by_hand.arrangement));
        json_.entry("got_m3_s", answer_.by_hand.got_m3_s);
        json_.entry("share", answer_.by_hand.share);
        json_.end_object();
    }

    void warnings() {
        json_.open_list("warnings");
        for (const Finding& finding : balance_findings(scene_)) {
            json_.open_element(finding.code, "code");
            json_.entry("about", finding.about);
            json_.entry("trouble", finding.weight == Weight::trouble);
            json_.entry("says", finding.says);
            json_.end_object();
        }
        json_.end_array();
    }

    const BalanceScene& scene_;
    const layout::Layout& layout_;
    const choose::BalanceAnswer& answer_;
    JsonWriter json_;
};

}  // namespace

void write_balance_json(const BalanceScene& scene, Output& output) { BalanceJson(scene, output).write(); }

}  // namespace ebb::cli
