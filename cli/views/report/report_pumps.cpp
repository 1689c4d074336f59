// Pumps: the curve of each against what the farm asks of it, where it runs, how well, and what is left at its suction. And what other pipe sizes
// cost.

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "cli/views/money.h"
#include "cli/views/report/report_page.h"
#include "cli/views/report/report_units.h"
#include "cli/views/report/report_words.h"
#include "cli/words.h"
#include "solver/physics/water.h"

namespace ebb::cli {
namespace {

std::size_t at(std::int32_t index) { return static_cast<std::size_t>(index); }

/// One pump of the farm, to be drawn.
class PumpPlots {
public:
    PumpPlots(const ReportScene& scene, const PumpMade& made)
        : scene_(scene), made_(made), pump_(scene.layout().pumps[at(made.pump)]), model_(scene.layout().pump_models[at(pump_.model)]),
          units_(scene.speech()), duty_{.speed = 1.0, .count = pump_.count, .wear = pump_.wear} {
        most_m3_s_ = model_.curve.greatest_flow_m3_s(duty_);
        for (const auto& [state, answer] : running()) most_m3_s_ = std::max(most_m3_s_, answer->flow_m3_s);
    }

    void add(html::Node section) const {
        Plot plot;
        plot.says = fmt::format(words::kPumpSays, pump_.id, scene_.speech().head(model_.curve.shut_off_head_m(duty_)), runs_words());
        plot.x.label = fmt::format(words::kFlowAxis, units_.flow_name());
        plot.y.label = fmt::format(words::kHeadAxis, units_.head_name());
        plot.x.least = plot.y.least = 0.0;
        plot.spans = best_window();
        plot.series.push_back(head_of(model_.curve, duty_, fmt::format(words::kPumpCurve, pump_.model_name), PlotSeries::Look::line));
        if (model_.from_label) {
            plot.series.push_back(head_of(model_.curve_low, duty_, fmt::format(words::kPumpBand, pump_.model_name), PlotSeries::Look::dashed));
            plot.series.push_back(head_of(model_.curve_high, duty_, "", PlotSeries::Look::dashed));
        }
        add_slower(plot);
        add_systems(plot);
        plot.series.push_back(duties());
        scene_.painter.draw(section, plot, fmt::format(words::kPumpCaption, pump_.id));
        if (model_.has_power) add_efficiency(section);
        if (model_.has_npsh) add_npsh(section);
    }

private:
    struct Running {
        const StateMade* state;
        const settle::PumpAnswer* answer;
    };

    /// The arrangements in which it runs.
    std::vector<Running> running() const {
        std::vector<Running> all;
        for (const StateMade& state : scene_.matter.arrangements)
            if (!state.answer.pumps.empty() && state.answer.pumps[at(made_.pump)].running &&
                std::isfinite(state.answer.pumps[at(made_.pump)].flow_m3_s))
                all.push_back({&state, &state.answer.pumps[at(made_.pump)]});
        return all;
    }

    std::string runs_words() const {
        std::vector<std::string> all;
        for (const auto& [state, answer] : running())
            all.push_back(
                fmt::format("'{}' {}, {}", state->answer.name, scene_.speech().flow(answer->flow_m3_s), scene_.speech().head(answer->head_m)));
        return listed(all, 6);
    }

    template <typename Value>
    PlotSeries along(double end_m3_s, const Value& value) const {
        constexpr int kPoints = 49;
        PlotSeries series;
        for (int i = 0; i < kPoints; ++i) {
            const double flow = end_m3_s * i / (kPoints - 1);
            series.x.push_back(units_.flow(flow));
            series.y.push_back(value(flow));
        }
        return series;
    }

    PlotSeries head_of(const physics::PumpCurve& curve, const physics::PumpDuty& duty, std::string name, PlotSeries::Look look) const {
        const double end = std::min(curve.zero_head_flow_m3_s(duty), std::max(curve.greatest_flow_m3_s(duty), duty.speed * most_m3_s_));
        PlotSeries series = along(end, [&](double flow) { return std::max(0.0, units_.head(curve.head(flow, duty).value)); });
        series.name = std::move(name);
        series.look = look;
        return series;
    }

    /// The curve at the other speeds at which it runs.
    void add_slower(Plot& plot) const {
        std::vector<double> speeds;
        for (const auto& [state, answer] : running()) {
            const double speed = state->conditions.pump_speed[at(made_.pump)];
            if (speed < 1.0 && std::find(speeds.begin(), speeds.end(), speed) == speeds.end()) speeds.push_back(speed);
        }
        for (const double speed : speeds) {
            physics::PumpDuty slower = duty_;
            slower.speed = speed;
            plot.series.push_back(head_of(model_.curve, slower, fmt::format(words::kAtSpeed, Speech::share(speed)), PlotSeries::Look::dashed));
        }
    }

    void add_systems(Plot& plot) const {
        int ink = 1;
        for (const choose::Duty& duty : made_.duties) {
            PlotSeries series;
            series.name = fmt::format(words::kSystem, scene_.layout().arrangements[at(duty.arrangement)].name);
            series.ink = ink++;
            for (const choose::SystemPoint& point : duty.curve) {
                if (!point.solved || point.flow_m3_s > most_m3_s_ * 1.1) continue;
                series.x.push_back(units_.flow(point.flow_m3_s));
                series.y.push_back(units_.head(point.head_m));
            }
            if (!series.x.empty()) plot.series.push_back(std::move(series));
        }
    }

    PlotSeries duties() const {
        PlotSeries series;
        series.name = words::kDuty;
        series.look = PlotSeries::Look::points;
        series.ink = 7;
        for (const auto& [state, answer] : running()) {
            series.x.push_back(units_.flow(answer->flow_m3_s));
            series.y.push_back(units_.head(answer->head_m));
            series.says.push_back(
                fmt::format("'{}': {}, {}", state->answer.name, scene_.speech().flow(answer->flow_m3_s), scene_.speech().head(answer->head_m)));
        }
        return series;
    }

    std::vector<PlotSpan> best_window() const {
        const double best = model_.has_power ? model_.curve.best_efficiency_flow_m3_s(duty_) : settle::kUnknown;
        if (!(best > 0.0)) return {};
        const Practice practice;
        return {{.from = units_.flow(practice.best_point_low * best),
                 .to = units_.flow(practice.best_point_high * best),
                 .name = std::string(words::kBestWindow),
                 .says = std::string(words::kBestWindow),
                 .ink = 2}};
    }

    void add_efficiency(html::Node section) const {
        const double density = physics::water_density_kg_m3(scene_.layout().water_temperature_c);
        constexpr double kPercent = 100.0;
        Plot plot;
        plot.height = 150.0;
        plot.says = fmt::format(words::kEfficiencyCaption, pump_.id);
        plot.x = {fmt::format(words::kFlowAxis, units_.flow_name()), 0.0};
        plot.y = {std::string(words::kEfficiencyAxis), 0.0};
        plot.spans = best_window();
        plot.series.push_back(along(most_m3_s_, [&](double flow) { return kPercent * model_.curve.efficiency(flow, duty_, density); }));
        PlotSeries points = duties();
        points.name.clear();
        for (std::size_t i = 0; i < points.x.size(); ++i) points.y[i] = kPercent * running()[i].answer->efficiency;
        plot.series.push_back(std::move(points));
        scene_.painter.draw(section, plot, fmt::format(words::kEfficiencyCaption, pump_.id));
    }

    void add_npsh(html::Node section) const {
        Plot plot;
        plot.height = 150.0;
        plot.says = fmt::format(words::kNpshCaption, pump_.id);
        plot.x = {fmt::format(words::kFlowAxis, units_.flow_name()), 0.0};
        plot.y = {fmt::format(words::kHeadAxis, units_.head_name()), 0.0};
        plot.series.push_back(along(most_m3_s_, [&](double flow) { return units_.head(model_.curve.npsh_required_m(flow, duty_)); }));
        plot.series.back().name = words::kNeeds;
        PlotSeries has = duties();
        has.name = words::kHas;
        for (std::size_t i = 0; i < has.x.size(); ++i) has.y[i] = units_.head(running()[i].answer->npsh_available_m);
        plot.series.push_back(std::move(has));
        scene_.painter.draw(section, plot, fmt::format(words::kNpshCaption, pump_.id));
    }

    const ReportScene& scene_;
    const PumpMade& made_;
    const layout::Pump& pump_;
    const layout::PumpModel& model_;
    AxisUnits units_;
    physics::PumpDuty duty_;
    double most_m3_s_ = 0.0;
};

/// Which sizes were chosen.
Table sizes_table(const ReportScene& scene, const choose::SizingAnswer& sizing) {
    Table table({{words::kColToChoose, Align::left}, {words::kColSize, Align::left}, {words::kColBore}, {words::kColLength}, {words::kColCosts}});
    for (std::size_t c = 0; c < sizing.sizes.size(); ++c) {
        const choose::Choice& choice = sizing.problem.choices[c];
        const auto& series = scene.layout().sold_series[at(choice.series)];
        const std::size_t option = sizing.result.design[c];
        table.add({choice.name, fmt::format("{} {}", series.sizes[option].name, series.name), scene.speech().bore(series.sizes[option].bore_m),
                   scene.speech().length(sizing.sizes[c].length_m), money(sizing.sizes[c].cost, scene.layout().economy.currency)});
    }
    return table;
}

}  // namespace

void add_pumps(html::Node main, const ReportScene& scene) {
    if (scene.layout().pumps.empty()) return;
    const html::Node section = html::section(main, "pumps", words::kPumpsHeading);
    for (const PumpMade& made : scene.matter.pumps) {
        html::add(section, "h3", {}, scene.layout().pumps[at(made.pump)].id);
        PumpPlots(scene, made).add(html::add(section, "div", {{"class", "plots"}}));
        if (made.duties.empty()) html::add(section, "p", {{"class", "note"}}, words::kNoCurves);
    }
}

void add_sizing(html::Node main, const ReportScene& scene) {
    const auto& pipes = scene.layout().pipes;
    const auto count = static_cast<std::size_t>(std::count_if(pipes.begin(), pipes.end(), [](const layout::Pipe& pipe) { return pipe.choose; }));
    if (count == 0) return;
    const html::Node section = html::section(main, "sizing", words::kSizing);
    if (!scene.matter.sizing) {
        html::add(section, "p", {{"class", "note"}}, fmt::format(words::kSizingSkipped, counted(count, "pipe", "pipes")));
        return;
    }
    const choose::SizingAnswer& sizing = *scene.matter.sizing;
    if (!sizing.result.found) {
        html::add(section, "p", {}, words::kSizingNone);
        return;
    }
    html::table(section, sizes_table(scene, sizing), words::kChosenCaption);
    constexpr double kPercent = 100.0;
    Plot plot;
    plot.says = words::kSizingCaption;
    plot.x.label = words::kSpareAxis;
    plot.y.label = fmt::format(words::kCostAxis, scene.layout().economy.currency);
    PlotSeries line, points;
    line.look = PlotSeries::Look::dashed;
    points.look = PlotSeries::Look::points;
    points.name = words::kCheapest;
    for (const choose::TradeOffPoint& point : sizing.trade_off) {
        if (!point.found) continue;
        points.x.push_back(kPercent * point.margin);
        points.y.push_back(point.verdict.total_cost);
        points.says.push_back(fmt::format("{:.0f} %: {}", kPercent * point.margin, money(point.verdict.total_cost, scene.layout().economy.currency)));
    }
    line.x = points.x;
    line.y = points.y;
    if (!points.x.empty()) {
        plot.series = {std::move(line), std::move(points)};
        scene.painter.draw(section, plot, words::kSizingCaption);
    }
}

}  // namespace ebb::cli
