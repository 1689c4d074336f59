// `pipes --format csv`: one figure a line, SI; money in the layout's currency. The quantities are those of the JSON.

#include <string>
#include <string_view>

#include "cli/views/csv.h"
#include "cli/views/pipes_words.h"

namespace ebb::cli {

namespace {

/// Quantities of judgements, as `flows` names them in its table.
struct Named {
    std::string_view key, quantity, unit;
};
constexpr Named kNamed[] = {{"turnover_s", "turnover", "s"},     {"inflow_m3_s", "inflow", "m3/s"}, {"pressure_m", "pressure", "m"},
                            {"velocity_m_s", "velocity", "m/s"}, {"fill_ratio", "fill-ratio", "1"}, {"spill_m3_s", "spill", "m3/s"},
                            {"spilled_m3", "spilled", "m3"}};

Named named(std::string_view key) {
    for (const Named& one : kNamed)
        if (one.key == key) return one;
    return {key, key, ""};
}

class PipesCsv {
public:
    PipesCsv(const PipesScene& scene, Output& output) : layout_(scene.subject.layout), answer_(scene.answer), words_(scene), output_(output) {}

    void write() {
        output_.write("kind,about,arrangement,quantity,unit,value\n");
        verdict(answer_.result.found ? "chosen" : "nearest", answer_.result.verdict);
        verdict("drawn", answer_.drawn);
        begin("search", "", "");
        line("found", "", answer_.result.found ? "yes" : "no");
        line("proven", "", answer_.proven ? "yes" : "no");
        figure("lower-bound", "", answer_.proven || answer_.bounded ? answer_.lower_bound : layout::kNotSaid);
        figure("designs-tried", "", static_cast<double>(answer_.result.evaluations));
        if (!answer_.result.found)
            for (const std::string& says : words_.infeasible()) line("says", "", says);
        times();
        for (const choose::ChosenSize& size : answer_.sizes) chosen(size);
        for (const choose::Enlargement& one : answer_.enlargements) {
            begin("enlargement", answer_.problem.choices[one.choice].name, "");
            line("size", "", words_.size_name(answer_.problem.choices[one.choice], one.option));
            figure("more-cost", "", one.more_cost);
            figure("more-margin", "1", one.more_margin);
        }
        for (const choose::TradeOffPoint& point : answer_.trade_off) traded(point);
    }

private:
    void begin(std::string_view kind, std::string_view about, std::string_view arrangement) {
        begin_ = csv_cell(kind) + ',' + csv_cell(about) + ',' + csv_cell(arrangement) + ',';
    }
    void line(std::string_view quantity, std::string_view unit, std::string_view value) {
        std::string text = begin_;
        text.append(quantity).append(1, ',').append(unit).append(1, ',').append(csv_cell(value)).append("\n");
        output_.write(text);
    }
    void figure(std::string_view quantity, std::string_view unit, double value) { line(quantity, unit, csv_number(value)); }

    void verdict(std::string_view kind, const choose::Verdict& one) {
        begin(kind, "", "");
        line("allowed", "", one.allowed ? "yes" : "no");
        figure("pipes-cost", "", one.pipes_cost);
        figure("energy-a-year", "kWh", one.energy_a_year_kwh);
        figure("life-cycle-cost", "", one.total_cost);
        figure("least-target-margin", "1", one.targets_margin);
        for (const choose::Judgement& judgement : one.judgements) {
            begin(std::string(kind) + (judgement.is_limit ? "-limit" : "-target"), judgement.about, words_.arrangement(judgement.arrangement));
            const Named quantity = named(judgement.quantity);
            figure(std::string(quantity.quantity) + (judgement.at_most ? "-at-most" : "-at-least"), quantity.unit, judgement.wanted);
            figure(quantity.quantity, quantity.unit, judgement.got);
            figure("margin", "1", judgement.margin);
        }
    }

    void times() {
        for (const choose::BedInTime& bed : answer_.times.chosen) {
            begin("bed", layout_.vessels[static_cast<std::size_t>(bed.vessel)].id, "");
            line("routine", "", layout_.routines[static_cast<std::size_t>(bed.routine)].name);
            figure(bed.fills ? "fill-at-most" : "drain-at-most", "s", bed.wanted_s);
            figure(bed.fills ? "fill" : "drain", "s", bed.got_s);
        }
        if (!answer_.result.found) return;
        for (const auto& found : {words_.times(), words_.findings()})
            for (const Finding& one : found) {
                begin(one.weight == Weight::trouble ? "trouble" : "doubt", one.about, "");
                line(one.code, "", one.says);
            }
    }

    void chosen(const choose::ChosenSize& size) {
        const choose::Choice& choice = answer_.problem.choices[size.choice];
        begin("size", choice.name, "");
        line("size", "", words_.size_name(choice, size.option));
        line("drawn-size", "", size.drawn_size);
        figure("bore", "m", choice.bore_m(layout_, size.option));
        figure("drawn-bore", "m", size.drawn_bore_m);
        figure("length", "m", size.length_m);
        figure("cost", "", size.cost);
        begin("size", choice.name, size.quickest_in < 0 ? "" : words_.arrangement(size.quickest_in));
        figure("flow", "m3/s", size.flow_m3_s);
        figure("velocity", "m/s", size.velocity_m_s);
        if (size.fullest_in < 0) return;
        begin("size", choice.name, words_.arrangement(size.fullest_in));
        figure("fill-ratio", "1", size.fill_ratio);
    }

    void traded(const choose::TradeOffPoint& point) {
        begin("trade-off", csv_number(point.margin), "");
        line("found", "", point.found ? "yes" : "no");
        if (!point.found) return;
        figure("life-cycle-cost", "", point.verdict.total_cost);
        figure("least-target-margin", "1", point.verdict.targets_margin);
        for (std::size_t c = 0; c < point.design.size(); ++c)
            line("size", "", answer_.problem.choices[c].name + ": " + words_.size_name(answer_.problem.choices[c], point.design[c]));
    }

    const layout::Layout& layout_;
    const choose::SizingAnswer& answer_;
    PipesWords words_;
    Output& output_;
    std::string begin_;
};

}  // namespace

void write_pipes_csv(const PipesScene& scene, Output& output) { PipesCsv(scene, output).write(); }

}  // namespace ebb::cli
