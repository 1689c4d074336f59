// Numbers in sentences, in the units of the page. The words stand in profile_words.h.

#include "cli/views/report/profile_numbers.h"

#include <algorithm>
#include <cmath>

#include "cli/views/report/profile_words.h"

namespace ebb::cli::profile {
namespace {

namespace words = profile_words;
using layout::Kind;
using layout::Ref;

std::size_t index(std::int32_t i) { return static_cast<std::size_t>(i); }

/// "-" of Speech, and what is zero where zero is not worth a clause.
std::string positive(double value, std::string says) { return value > 0.0 ? std::move(says) : std::string(); }

std::string flow_if_any(const Speech& speech, double flow_m3_s) { return is_still(flow_m3_s) ? std::string() : speech.flow(std::abs(flow_m3_s)); }

Told vessel(const ProfileScene& scene, std::size_t i) {
    const layout::Vessel& one = scene.layout.vessels[i];
    const Speech& speech = scene.speech;
    Told told{std::string(layout::name_of(one.kind)) + " " + one.id, words::kVessel, {}};
    if (i >= scene.answer.vessels.size()) return told;
    const settle::VesselAnswer& answer = scene.answer.vessels[i];
    told.values = {{"depth", speech.height(answer.depth_m)},
                   {"level", speech.level(answer.level_m)},
                   {"rim", positive(answer.freeboard_m, speech.height(answer.freeboard_m))},
                   {"volume", speech.volume(answer.volume_m3)},
                   {"inflow", flow_if_any(speech, answer.inflow_m3_s)},
                   {"spill", flow_if_any(speech, answer.spill_m3_s)}};
    return told;
}

Told pump(const ProfileScene& scene, std::size_t i) {
    const layout::Pump& one = scene.layout.pumps[i];
    const Speech& speech = scene.speech;
    Told told{"pump " + one.id, words::kPump, {}};
    double intake_m = one.elevation_m;
    if (one.in.kind == Kind::vessel) intake_m = scene.layout.vessels[index(one.in.index)].floor_m + one.intake_height_m;
    if (one.in.kind == Kind::pond) intake_m = scene.layout.ponds[index(one.in.index)].level_m + one.intake_height_m;
    told.values = {{"level", speech.level(intake_m), true}};
    if (i >= scene.answer.pumps.size()) return told;
    const settle::PumpAnswer& answer = scene.answer.pumps[i];
    const double speed = scene.conditions.pump_speed.size() > i ? scene.conditions.pump_speed[i] : 1.0;
    if (!answer.running) {
        told.values.push_back({"stopped", std::string(words::kStopped)});
        return told;
    }
    told.values.push_back({"flow", speech.flow(answer.flow_m3_s)});
    told.values.push_back({"head", speech.head(answer.head_m)});
    told.values.push_back({"power", speech.power(answer.power_w)});
    if (speed < 1.0) told.values.push_back({"speed", Speech::share(speed)});
    return told;
}

Told standpipe(const ProfileScene& scene, std::size_t i) {
    const layout::Standpipe& one = scene.layout.standpipes[i];
    const Speech& speech = scene.speech;
    const std::size_t fitted = scene.conditions.insert.size() > i ? index(scene.conditions.insert[i]) : 0;
    std::string others;
    for (std::size_t k = 0; k < one.inserts.size(); ++k)
        if (k != fitted) others += (others.empty() ? "" : ", ") + speech.height(one.inserts[k].lip_m);
    Told told{"standpipe " + one.id, words::kStandpipe, {{"vessel", one.in_id, true}, {"others", others}}};
    if (fitted < one.inserts.size()) told.values.push_back({"lip", speech.height(one.inserts[fitted].lip_m)});
    if (i < scene.answer.standpipes.size()) told.values.push_back({"flow", flow_if_any(speech, scene.answer.standpipes[i].flow_m3_s)});
    return told;
}

Told siphon(const ProfileScene& scene, std::size_t i) {
    const layout::Siphon& one = scene.layout.siphons[i];
    Told told{
        "siphon " + one.id,
        words::kSiphon,
        {{"vessel", one.in_id, true}, {"crest", scene.speech.height(one.crest_m), true}, {"breaks", scene.speech.height(one.breaks_at_m), true}}};
    if (i < scene.answer.siphons.size()) told.values.push_back({"flow", flow_if_any(scene.speech, scene.answer.siphons[i].flow_m3_s)});
    return told;
}

Told tee(const ProfileScene& scene, std::size_t i) {
    const layout::Tee& one = scene.layout.tees[i];
    Told told{"tee " + one.id,
              words::kTee,
              {{"level", scene.speech.level(one.elevation_m), true}, {"air", one.vented ? std::string(words::kVented) : std::string(), true}}};
    if (i >= scene.answer.tees.size()) return told;
    told.values.push_back({"head", scene.speech.head(scene.answer.tees[i].head_m)});
    if (!one.vented) told.values.push_back({"pressure", scene.speech.head(scene.answer.tees[i].pressure_m)});
    return told;
}

Told supply(const ProfileScene& scene, std::size_t i) {
    const layout::Supply& one = scene.layout.supplies[i];
    Told told{
        "supply " + one.id, words::kSupply, {{"head", scene.speech.head(one.head_m), true}, {"level", scene.speech.level(one.elevation_m), true}}};
    if (i < scene.answer.supplies.size()) told.values.push_back({"flow", flow_if_any(scene.speech, scene.answer.supplies[i].flow_m3_s)});
    return told;
}

Told small_thing(const ProfileScene& scene, const Ref& ref) {
    const std::size_t i = index(ref.index);
    const settle::Answer& answer = scene.answer;
    const Speech& speech = scene.speech;
    std::string kind = layout::name_of(ref.kind);
    std::replace(kind.begin(), kind.end(), '-', ' ');
    const std::string name = kind + " " + id_of(scene.layout, ref);
    if (ref.kind == Kind::pond) {
        Told told{name, words::kPond, {{"level", speech.level(scene.layout.ponds[i].level_m), true}}};
        if (i < answer.ponds.size()) told.values.push_back({"flow", flow_if_any(speech, answer.ponds[i].flow_m3_s)});
        return told;
    }
    if (ref.kind == Kind::filter) {
        Told told{name, words::kFilter, {}};
        if (i < answer.filters.size())
            told.values = {{"flow", flow_if_any(speech, answer.filters[i].flow_m3_s)}, {"loss", speech.head(answer.filters[i].loss_m)}};
        return told;
    }
    if (ref.kind == Kind::nozzle) {
        Told told{name, words::kNozzle, {}};
        if (i < answer.nozzles.size())
            told.values = {{"flow", flow_if_any(speech, answer.nozzles[i].flow_m3_s)}, {"head", speech.head(answer.nozzles[i].head_m)}};
        return told;
    }
    Told told{name, words::kFloatValve, {}};
    if (i < answer.float_valves.size())
        told.values = {{"flow", flow_if_any(speech, answer.float_valves[i].flow_m3_s)}, {"opening", Speech::share(answer.float_valves[i].opening)}};
    return told;
}

/// Height of the water's way at one end of a pipe; NaN where it has none of its own.
double end_elevation(const layout::Layout& layout, const layout::End& end) {
    const std::size_t i = index(end.ref.index);
    const auto floor = [&](const Ref& vessel) {
        return vessel.kind == Kind::vessel ? layout.vessels[index(vessel.index)].floor_m : layout::kNotSaid;
    };
    switch (end.ref.kind) {
        case Kind::vessel: return floor(end.ref) + end.height();
        case Kind::pond: return layout.ponds[i].level_m + end.height();
        case Kind::tee: return layout.tees[i].elevation_m;
        case Kind::standpipe: return floor(layout.standpipes[i].in);
        case Kind::siphon: return floor(layout.siphons[i].in);
        default: return layout::kNotSaid;
    }
}

std::string fall_of(const ProfileScene& scene, const layout::Pipe& pipe) {
    if (!pipe.gravity || !(pipe.length_m > 0.0)) return {};
    const double fall = (end_elevation(scene.layout, pipe.from) - end_elevation(scene.layout, pipe.to)) / pipe.length_m;
    return std::isfinite(fall) ? filled(words::kFall, {{"millimetres", scene.speech.height(fall)}}) : std::string();
}

}  // namespace

bool is_still(double flow_m3_s) {
    constexpr double kStill_m3_s = 1e-7;  // 6 ml a minute
    return !(std::abs(flow_m3_s) > kStill_m3_s);
}

std::string filled(std::string_view clause, const Values& values) {
    std::string text;
    for (std::size_t at = 0; at < clause.size(); ++at) {
        if (clause[at] != '{') {
            text += clause[at];
            continue;
        }
        const std::size_t end = clause.find('}', at);
        const std::string_view name = clause.substr(at + 1, end - at - 1);
        const Value* found = nullptr;
        for (const Value& value : values)
            if (name == value.name) found = &value;
        if (found == nullptr || found->says.empty() || found->says == "-") return {};
        text += found->says;
        at = end;
    }
    return text;
}

std::string Told::sentence() const {
    std::string text;
    for (const std::string_view clause : clauses) {
        const std::string says = filled(clause, values);
        if (!says.empty()) text += (text.empty() ? ": " : ", ") + says;
    }
    return name + text;
}

Told told(const ProfileScene& scene, const Ref& ref) {
    const std::size_t i = index(ref.index);
    switch (ref.kind) {
        case Kind::vessel: return vessel(scene, i);
        case Kind::pump: return pump(scene, i);
        case Kind::standpipe: return standpipe(scene, i);
        case Kind::siphon: return siphon(scene, i);
        case Kind::tee: return tee(scene, i);
        case Kind::supply: return supply(scene, i);
        default: return small_thing(scene, ref);
    }
}

std::string size_of(const ProfileScene& scene, std::size_t pipe) {
    const layout::Pipe& one = scene.layout.pipes[pipe];
    return one.size.empty() ? scene.speech.bore(one.bore_m) : one.size;
}

Told told_pipe(const ProfileScene& scene, std::size_t i) {
    const layout::Pipe& one = scene.layout.pipes[i];
    const Speech& speech = scene.speech;
    Told told{(one.gravity ? "drain " : "pipe ") + one.id, words::kPipe, {}};
    const bool backwards = i < scene.answer.pipes.size() && scene.answer.pipes[i].flow_m3_s < 0.0;
    told.values = {{"from", backwards ? one.to.id : one.from.id}, {"to", backwards ? one.from.id : one.to.id},   {"size", one.size, true},
                   {"bore", speech.bore(one.bore_m), true},       {"length", speech.length(one.length_m), true}, {"fall", fall_of(scene, one), true}};
    if (i >= scene.answer.pipes.size()) return told;
    const settle::PipeAnswer& answer = scene.answer.pipes[i];
    if (is_still(answer.flow_m3_s)) {
        told.values.push_back({"still", std::string(answer.shut ? words::kShut : words::kStill)});
        return told;
    }
    told.values.push_back({"flow", speech.flow(std::abs(answer.flow_m3_s))});
    told.values.push_back({"velocity", speech.velocity(std::abs(answer.velocity_m_s))});
    told.values.push_back({"loss", speech.head(std::abs(answer.loss_m))});
    if (one.gravity) told.values.push_back({"fill", Speech::share(answer.fill_ratio)});
    return told;
}

std::string opening_in_words(double opening) {
    constexpr double kFully = 0.995, kNotAtAll = 0.0005;
    if (opening <= kNotAtAll) return std::string(words::kShut);
    return opening >= kFully ? std::string(words::kOpen) : Speech::share(opening);
}

Told told_valve(const ProfileScene& scene, std::size_t i) {
    const layout::Valve& one = scene.layout.valves[i];
    const double opening = scene.conditions.valve_opening.size() > i ? scene.conditions.valve_opening[i] : 1.0;
    return {"valve " + one.id,
            words::kValve,
            {{"opening", opening_in_words(opening)}, {"pipe", one.pipe >= 0 ? scene.layout.pipes[index(one.pipe)].id : std::string(), true}}};
}

const std::string& id_of(const layout::Layout& layout, const Ref& ref) {
    const std::size_t i = index(ref.index);
    switch (ref.kind) {
        case Kind::vessel: return layout.vessels[i].id;
        case Kind::pond: return layout.ponds[i].id;
        case Kind::pump: return layout.pumps[i].id;
        case Kind::filter: return layout.filters[i].id;
        case Kind::nozzle: return layout.nozzles[i].id;
        case Kind::supply: return layout.supplies[i].id;
        case Kind::float_valve: return layout.float_valves[i].id;
        case Kind::standpipe: return layout.standpipes[i].id;
        case Kind::siphon: return layout.siphons[i].id;
        case Kind::valve: return layout.valves[i].id;
        case Kind::pipe: return layout.pipes[i].id;
        default: return layout.tees[i].id;
    }
}

}  // namespace ebb::cli::profile
