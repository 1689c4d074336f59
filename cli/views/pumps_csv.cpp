// `pumps --format csv`: one figure a line, SI; money in the layout's currency. The quantities are those of the JSON.

#include <string>
#include <string_view>

#include "cli/views/csv.h"
#include "cli/views/pumps_words.h"
#include "cli/words.h"

namespace ebb::cli {

namespace {

class PumpsCsv {
public:
    PumpsCsv(const PumpsScene& scene, Output& output) : answer_(scene.answer), words_(scene), output_(output) {}

    void write() {
        output_.write("pump,kind,rank,model,count,speed-mode,arrangement,quantity,unit,value\n");
        if (answer_.stopped) interrupted();
        for (const choose::PumpChoice& choice : answer_.pumps) pump(choice);
        if (answer_.together.done) together();
        for (const choose::Standby& standby : answer_.standby) failures(standby);
        for (const choose::Beside& one : answer_.beside) beside(one);
    }

private:
    void line(std::string_view quantity, std::string_view unit, std::string_view value) {
        std::string text = begin_ + csv_cell(arrangement_) + ',';
        text.append(quantity).append(1, ',').append(unit).append(1, ',').append(csv_cell(value)).append("\n");
        output_.write(text);
    }
    void figure(std::string_view quantity, std::string_view unit, double value) { line(quantity, unit, csv_number(value)); }

    void interrupted() {
        begin("", "run", 0, nullptr);
        arrangement_.clear();
        line("interrupted", "", "true");
        figure("candidates-tried", "1", answer_.tried);
        figure("candidates-in-all", "1", answer_.to_try);
    }

    void beside(const choose::Beside& one) {
        begin("", "beside", 0, nullptr);
        arrangement_ = words_.arrangement(one.arrangement);
        line("state", "", settle::name_of(one.state));
        if (one.spoiled()) line("says", "", words_.spoiled(one));
    }

    void duty(const choose::Duty& duty) {
        arrangement_ = words_.arrangement(duty.arrangement);
        line("outcome", "", name_of(duty.outcome));
        figure("flow", "m3/s", duty.flow_m3_s);
        figure("head", "m", duty.head_m);
        figure("static-head", "m", duty.static_head_m);
        figure("asked", "m3/s", duty.asked_m3_s);
        figure("npsh-available", "m", duty.npsh_available_m);
        figure("margin", "1", duty.margin);
        if (!duty.sets.about.empty()) line("set-by", "", duty.sets.about + ": " + wish_of(duty.sets));
        if (duty.outcome == choose::DutyOutcome::unreachable) line("says", "", words_.unreachable(duty));
    }

    void candidate(const choose::Candidate& one) {
        arrangement_.clear();
        line("standing", "", name_of(one.standing));
        figure("speed", "1", one.speed);
        figure("price", "", one.price);
        figure("energy-a-year", "kWh", one.energy_kwh_year);
        figure("energy-a-year-all-pumps", "kWh", one.all_energy_kwh_year);
        figure("energy-cost-a-year", "", one.energy_cost_year);
        figure("life-cycle-cost", "", one.life_cycle_cost);
        figure("least-npsh-spare", "m", one.least_npsh_spare_m);
        if (one.reason.fault != choose::Fault::none) line(name_of(one.reason.fault), "", words_.reason(one.reason));
        for (const choose::DoubtAt& doubt : one.doubts) line(name_of(doubt.doubt), "", words_.doubt(doubt));
        for (const choose::CandidatePoint& point : one.points) {
            arrangement_ = words_.arrangement(point.arrangement);
            line("state", "", settle::name_of(point.state));
            figure("speed", "1", point.speed);
            figure("flow", "m3/s", point.pump.flow_m3_s);
            figure("head", "m", point.pump.head_m);
            figure("power", "W", point.pump.power_w);
            figure("efficiency", "1", point.pump.efficiency);
            figure("best-point-ratio", "1", point.pump.best_point_ratio);
            figure("npsh-available", "m", point.pump.npsh_available_m);
            figure("npsh-required", "m", point.pump.npsh_required_m);
            figure("margin", "1", point.margin);
        }
        arrangement_.clear();
        for (const choose::BedInTime& bed : one.beds) line(bed.met ? "in-time" : "late", "", words_.bed(bed));
    }

    void begin(const std::string& pump, std::string_view kind, int rank, const choose::Candidate* one) {
        begin_ = csv_cell(pump) + ',' + std::string(kind) + ',' + (rank > 0 ? std::to_string(rank) : "") + ',';
        begin_ += one == nullptr ? ",,," : csv_cell(words_.model(one->model)) + ',' + std::to_string(one->count) + ',' + name_of(one->mode) + ',';
    }

    void pump(const choose::PumpChoice& choice) {
        const std::string id = words_.pump(choice.pump);
        begin(id, "duty", 0, nullptr);
        for (const choose::Duty& one : choice.duties) duty(one);
        int rank = 0;
        for (const choose::Candidate& one : choice.candidates) {
            begin(id, "candidate", ++rank, &one);
            candidate(one);
        }
        begin(id, "as-it-is", 0, &choice.as_it_is);
        candidate(choice.as_it_is);
    }

    void together() {
        begin("", "together", 0, nullptr);
        arrangement_.clear();
        line("all-met", "", answer_.together.all_met ? "true" : "false");
        figure("price", "", answer_.together.price);
        figure("energy-a-year", "kWh", answer_.together.energy_kwh_year);
        figure("life-cycle-cost", "", answer_.together.life_cycle_cost);
        for (const auto& one : answer_.together.arrangements) {
            arrangement_ = words_.arrangement(one.arrangement);
            for (const settle::Target& missed : one.missed) line("missed", "", words_.target(missed));
        }
    }

    void failures(const choose::Standby& standby) {
        for (const choose::Failed& one : standby.cases) {
            begin(words_.pump(one.pump), standby.of_winners ? "standby-of-winners" : "standby", 0, nullptr);
            arrangement_ = words_.arrangement(one.arrangement);
            figure("still-run", "1", one.left);
            figure("flow-after", "m3/s", one.flow_after_m3_s);
            for (const settle::Target& unmet : one.unmet) line("unmet", "", words_.target(unmet));
        }
    }

    const choose::PumpsAnswer& answer_;
    PumpsWords words_;
    Output& output_;
    std::string begin_, arrangement_;
};

}  // namespace

void write_pumps_csv(const PumpsScene& scene, Output& output) { PumpsCsv(scene, output).write(); }

}  // namespace ebb::cli
