// What the page's script knows: every state it can show, as plain numbers in SI, and the words it says them with. Seven digits each: what is said of
// them is what `flows` says.

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <nlohmann/json.hpp>
#include <unordered_map>

#include "cli/views/report/profile.h"
#include "cli/views/report/report_page.h"
#include "cli/views/report/report_words.h"
#include "cli/words.h"
#include "netfiles/units.h"

namespace ebb::cli {
namespace {

using nlohmann::json;

/// Numbers as text: seven digits, null where there is none. JSON of the library writes all seventeen.
class Numbers {
public:
    void add(double value) {
        text_ += text_.empty() ? "" : ",";
        text_ += !std::isfinite(value) ? "null" : std::abs(value) < 1e-13 ? "0" : fmt::format("{:.7g}", value);
    }
    std::string text() const { return "[" + text_ + "]"; }

private:
    std::string text_;
};

/// Sentences are kept once, however many states say them.
class Sentences {
public:
    std::size_t operator()(const std::string& sentence) {
        const auto [found, is_new] = index_.emplace(sentence, all_.size());
        if (is_new) all_.push_back(sentence);
        return found->second;
    }
    const std::vector<std::string>& all() const { return all_; }

private:
    std::unordered_map<std::string, std::size_t> index_;
    std::vector<std::string> all_;
};

template <typename Things, typename Value>
std::string column(const Things& things, const Value& value) {
    Numbers numbers;
    for (const auto& thing : things) numbers.add(value(thing));
    return numbers.text();
}

/// One state as an object of arrays, in the order of the layout.
std::string state_text(const ReportScene& scene, const StateMade& state, Sentences& sentences) {
    const settle::Answer& answer = state.answer;
    std::string said;
    constexpr std::size_t kMostSaid = 12;
    const std::vector<Said> all = said_of(scene, state);
    for (std::size_t i = 0; i < std::min(all.size(), kMostSaid); ++i)
        said += fmt::format("{}[{},{}]", said.empty() ? "" : ",", static_cast<int>(all[i].ink), sentences(all[i].sentence));
    std::string text = fmt::format("{{\"said\":[{}]", said);
    if (!answer.vessels.empty() && answer.state != settle::State::no_solution && answer.state != settle::State::not_run) {
        text += ",\"depth\":" + column(answer.vessels, [](const auto& one) { return one.depth_m; });
        text += ",\"inflow\":" + column(answer.vessels, [](const auto& one) { return one.inflow_m3_s; });
        text += ",\"turnover\":" + column(answer.vessels, [](const auto& one) { return one.turnover_s; });
        if (std::any_of(answer.vessels.begin(), answer.vessels.end(), [](const auto& one) { return one.spill_m3_s > 0.0; }))
            text += ",\"spill\":" + column(answer.vessels, [](const auto& one) { return one.spill_m3_s; });
        text += ",\"flow\":" + column(answer.pipes, [](const auto& one) { return one.flow_m3_s; });
        text += ",\"pumpFlow\":" + column(answer.pumps, [](const auto& one) { return one.running ? one.flow_m3_s : settle::kUnknown; });
        text += ",\"pumpHead\":" + column(answer.pumps, [](const auto& one) { return one.running ? one.head_m : settle::kUnknown; });
        text += ",\"pumpPower\":" + column(answer.pumps, [](const auto& one) { return one.running ? one.power_w : settle::kUnknown; });
        text += ",\"tee\":" + column(answer.tees, [](const auto& one) { return one.head_m; });
    }
    return text + "}";
}

/// Openings and speeds are given with arrangements; combinations follow from them.
std::string conditions_text(const layout::Conditions& conditions) {
    return fmt::format("\"opening\":{},\"speed\":{},\"insert\":{}", column(conditions.valve_opening, [](double one) { return one; }),
                       column(conditions.pump_speed, [](double one) { return one; }),
                       column(conditions.insert, [](std::int32_t one) { return static_cast<double>(one); }));
}

json words_json(const ReportScene& scene) {
    return {
        {"trouble", words::kTrouble},          {"doubt", words::kDoubt},           {"stopped", words::kStopped}, {"stated", words::kStated},
        {"all_on", words::kStatedAllOn},       {"off", words::kStatedOff},         {"on", words::kStatedOn},     {"not_held", words::kStatedNotHeld},
        {"show_nearest", words::kShowNearest}, {"differs", words::kStatedDiffers}, {"spills", words::kSpills},   {"base", scene.first().answer.name}};
}

/// What one SI unit is in the units of the page, for the script's speech.
json units_json(const ReportScene& scene) {
    using netfiles::Dimension;
    const bool us = scene.speech().units() == layout::UnitSystem::us;
    return {{"us", us},
            {"flow", netfiles::in_unit(1.0, Dimension::flow, us ? "gpm" : "l/min")},
            {"flow_large", netfiles::in_unit(1.0, Dimension::flow, "m3/h")},
            {"inches", netfiles::in_unit(1.0, Dimension::length, "in")},
            {"feet", netfiles::in_unit(1.0, Dimension::length, "ft")},
            {"volume", netfiles::in_unit(1.0, Dimension::volume, us ? "gal" : "l")}};
}

json things_json(const ReportScene& scene) {
    const layout::Layout& layout = scene.layout();
    json vessels = json::array();
    for (const layout::Vessel& vessel : layout.vessels) {
        json one = {{"id", vessel.id}, {"floor", vessel.floor_m}, {"rim", vessel.rim_m}};
        if (layout::said(vessel.turnover_s)) one["turnover"] = vessel.turnover_s;
        if (layout::said(vessel.inflow_m3_s)) one["inflow"] = vessel.inflow_m3_s;
        vessels.push_back(std::move(one));
    }
    json switches = json::array();
    for (const survey::Switch& one : scene.matter.what_if.question.switches) {
        const bool pump = one.thing.kind == layout::Kind::pump, standpipe = one.thing.kind == layout::Kind::standpipe;
        const auto i = static_cast<std::size_t>(one.thing.index);
        switches.push_back({{"id", pump        ? layout.pumps[i].id
                                   : standpipe ? layout.standpipes[i].id
                                               : layout.valves[i].id},
                            {"kind", pump        ? "speed"
                                     : standpipe ? "insert"
                                                 : "opening"},
                            {"index", one.thing.index},
                            {"other", one.other_insert}});
    }
    return {{"vessels", vessels}, {"switches", switches}};
}

}  // namespace

std::string report_data(const ReportScene& scene) {
    Sentences sentences;
    std::string text = "{\"arrangements\":[";
    for (const StateMade& state : scene.matter.arrangements)
        text += fmt::format("{}{{\"name\":{},{},\"state\":{}}}", text.back() == '[' ? "" : ",\n", json(state.answer.name).dump(),
                            conditions_text(state.conditions), state_text(scene, state, sentences));
    text += "],\n\"held\":[";
    const WhatIfMade& what_if = scene.matter.what_if;
    for (std::size_t i = 0; i < what_if.held.size(); ++i) {
        std::string off;
        for (std::size_t s = 0; s < what_if.question.switches.size(); ++s)
            if ((what_if.held[i] >> s & 1U) != 0) off += (off.empty() ? "" : ",") + std::to_string(s);
        text += fmt::format("{}{{\"off\":[{}],\"state\":{}}}", i == 0 ? "" : ",\n", off, state_text(scene, what_if.states[i], sentences));
    }
    text += fmt::format("],\n\"sentences\":{},\n\"things\":{},\n\"units\":{},\n\"words\":{},\n\"profile\":{}}}", json(sentences.all()).dump(),
                        things_json(scene).dump(), units_json(scene).dump(), words_json(scene).dump(), profile_data(scene.layout()).dump());
    return text;
}

}  // namespace ebb::cli
