// `balance --format csv`: one figure a line, SI. The quantities are those of the JSON.

#include <string>
#include <string_view>

#include "cli/views/balance_view.h"
#include "cli/views/csv.h"

namespace ebb::cli {

namespace {

std::size_t at(std::int32_t index) { return static_cast<std::size_t>(index); }

class BalanceCsv {
public:
    BalanceCsv(const BalanceScene& scene, Output& output) : scene_(scene), layout_(scene.subject.layout), answer_(scene.answer), output_(output) {}

    void write() {
        output_.write("arrangement,kind,id,quantity,unit,value\n");
        word({"", "balance", ""}, "outcome", name_of(answer_.outcome));
        figure({"", "balance", ""}, "worst-deviation", "1", answer_.worst_deviation);
        figure({"", "balance", ""}, "spare", "1", answer_.spare);
        figure({"", "balance", ""}, "throttled", "m", answer_.throttled_m);
        for (const choose::BalancedValve& valve : answer_.valves) write(valve);
        for (const choose::BalancedPump& pump : answer_.pumps) {
            const About about{"", "pump", layout_.pumps[at(pump.pump)].id};
            figure(about, "speed", "1", pump.speed);
            figure(about, "flow", "m3/s", pump.flow_m3_s);
            figure(about, "head", "m", pump.head_m);
            figure(about, "power", "W", pump.power_w);
        }
        for (const choose::BalancedOutlet& outlet : answer_.outlets) write(outlet);
        missing();
        for (const Finding& finding : balance_findings(scene_)) word({"", "warning", finding.about}, finding.code, finding.says);
        for (const std::string& sentence : missed_beside(scene_)) word({"", "balance", ""}, "missed-beside", sentence);
    }

private:
    struct About {
        std::string_view arrangement, kind, id;
    };

    void word(const About& about, std::string_view quantity, std::string_view value, std::string_view unit = "") {
        std::string line = csv_cell(about.arrangement) + ',';
        line.append(about.kind).append(1, ',').append(csv_cell(about.id)).append(1, ',');
        line.append(quantity).append(1, ',').append(unit).append(1, ',').append(csv_cell(value)).append("\n");
        output_.write(line);
    }
    void figure(const About& about, std::string_view quantity, std::string_view unit, double value) {
        word(about, quantity, csv_number(value), unit);
    }

    void write(const choose::BalancedValve& valve) {
        const std::string& id = layout_.valves[at(valve.valve)].id;
        figure({"", "valve", id}, "opening", "1", valve.opening);
        figure({"", "valve", id}, "loss-coefficient", "1", valve.loss_coefficient);
        figure({"", "valve", id}, "flow-per-travel", "m3/s", valve.flow_per_travel_m3_s);
        for (const choose::ValvePlace& place : valve.places) {
            const About about{layout_.arrangements[at(place.arrangement)].name, "valve", id};
            figure(about, "opening-before", "1", place.opening_before);
            figure(about, "flow", "m3/s", place.flow_m3_s);
            figure(about, "drop", "m", place.drop_m);
        }
    }

    void write(const choose::BalancedOutlet& outlet) {
        const About about{layout_.arrangements[at(outlet.arrangement)].name, "outlet", layout_.vessels[at(outlet.vessel)].id};
        const BucketTime time = bucket_time(scene_.bucket_m3, outlet.got_m3_s);
        figure(about, "wanted", "m3/s", outlet.wanted_m3_s);
        figure(about, "got", "m3/s", outlet.got_m3_s);
        figure(about, "share", "1", outlet.share);
        figure(about, "before", "m3/s", outlet.before_m3_s);
        figure(about, "throttled-on-the-way", "m", outlet.path_throttle_m);
        figure(about, "bucket", "s", time.seconds);
        figure(about, "bucket-least", "s", time.least_s);
        figure(about, "bucket-most", "s", time.most_s);
    }

    void missing() {
        const choose::MissingWater& missing = answer_.missing;
        if (missing.vessel < 0) return;
        const About about{layout_.arrangements[at(missing.arrangement)].name, "missing", layout_.vessels[at(missing.vessel)].id};
        figure(about, "greatest-share", "1", missing.greatest_share);
        if (missing.pump >= 0) word(about, "pump", layout_.pumps[at(missing.pump)].id);
        figure(about, "needed-flow", "m3/s", missing.needed_flow_m3_s);
        figure(about, "needed-head", "m", missing.needed_head_m);
        figure(about, "given-head", "m", missing.given_head_m);
        figure(about, "alone", "m3/s", missing.alone_m3_s);
        if (missing.worst_pipe >= 0) word(about, "worst-pipe", layout_.pipes[at(missing.worst_pipe)].id);
        figure(about, "worst-pipe-loss", "m", missing.worst_pipe_loss_m);
    }

    const BalanceScene& scene_;
    const layout::Layout& layout_;
    const choose::BalanceAnswer& answer_;
    Output& output_;
};

}  // namespace

void write_balance_csv(const BalanceScene& scene, Output& output) { BalanceCsv(scene, output).write(); }

}  // namespace ebb::cli
