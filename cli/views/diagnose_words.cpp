#include "cli/views/diagnose_words.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

namespace ebb::cli {

namespace {

using diagnose::Explanation;
using diagnose::Fault;
using diagnose::FaultKind;
using diagnose::Observable;
using diagnose::Quantity;
using diagnose::SizeRange;
using layout::Kind;
using layout::Ref;

std::size_t at(std::int32_t index) { return static_cast<std::size_t>(index); }

constexpr double kPercent = 100.0;

settle::Band band_of(const SizeRange& size) { return {.low = std::min(size.low, size.high), .high = std::max(size.low, size.high)}; }

std::string percent(double share) {
    const double value = kPercent * share;
    constexpr double kTen = 9.95;
    return value >= kTen || value == 0.0 ? fmt::format("{:.0f}", value) : fmt::format("{:.1f}", value);
}

/// "30-40 %".
std::string percents(const SizeRange& size) {
    const settle::Band band = band_of(size);
    const std::string low = percent(band.low), high = percent(band.high);
    return low == high ? "about " + low + " %" : low + "-" + high + " %";
}

/// "1.5-3.2 times".
std::string times(const SizeRange& size) {
    const settle::Band band = band_of(size);
    const std::string low = Speech::plain(band.low), high = Speech::plain(band.high);
    return low == high ? "about " + low + " times" : low + "-" + high + " times";
}

/// A hole's bore: tenths of a millimetre tell the small ones apart.
std::string hole(const Speech& speech, const SizeRange& size) {
    const settle::Band band = band_of(size);
    const std::string low = speech.bore(band.low), high = speech.bore(band.high);
    return low == high ? "about " + low : low.substr(0, low.find(' ')) + "-" + high;
}

}  // namespace

const std::string& DiagnoseWords::id(const Ref& ref) const {
    static const std::string none;
    const std::size_t index = at(ref.index);
    switch (ref.kind) {
        case Kind::vessel: return layout_.vessels[index].id;
        case Kind::pond: return layout_.ponds[index].id;
        case Kind::tee: return layout_.tees[index].id;
        case Kind::pump: return layout_.pumps[index].id;
        case Kind::filter: return layout_.filters[index].id;
        case Kind::nozzle: return layout_.nozzles[index].id;
        case Kind::supply: return layout_.supplies[index].id;
        case Kind::float_valve: return layout_.float_valves[index].id;
        case Kind::standpipe: return layout_.standpipes[index].id;
        case Kind::siphon: return layout_.siphons[index].id;
        case Kind::pipe: return layout_.pipes[index].id;
        case Kind::valve: return layout_.valves[index].id;
        default: return none;
    }
}

std::string DiagnoseWords::blocked(const std::string& what, const std::string& of_its, const SizeRange* size) const {
    constexpr double kNext = 1.5, kNearly = 0.05;  // as good as an end of the range of sizes
    if (size == nullptr) return what + " blocked";
    const settle::Band band = band_of(*size);
    const diagnose::FaultKindData& kind = diagnose::data_of(FaultKind::blocked_pipe);
    const bool to_nothing = band.low<kNext * kind.most, to_all = band.high> kind.least - kNearly;
    if (to_nothing && to_all) return what + " blocked, nobody knows how far";
    if (to_nothing) return fmt::format("{} blocked to less than {} % of {}", what, percent(band.high), of_its);
    if (to_all) return fmt::format("{} blocked a little, to more than {} % of {}", what, percent(band.low), of_its);
    return fmt::format("{} blocked to {} of {}", what, percents(*size), of_its);
}

std::string DiagnoseWords::valve_elsewhere(const Fault& fault, const SizeRange* size) const {
    const auto said = [](double opening) {
        return opening >= 1.0 ? std::string("fully open") : opening <= 0.0 ? std::string("shut") : percent(opening) + " % open";
    };
    const double drawn = conditions_.empty() ? 1.0 : conditions_[0].valve_opening[at(fault.at.index)];
    const bool same =
        std::all_of(conditions_.begin(), conditions_.end(), [&](const auto& one) { return one.valve_opening[at(fault.at.index)] == drawn; });
    const std::string instead = same ? ", not " + said(drawn) : ", not as the arrangement says";
    if (size == nullptr) return "valve " + id(fault.at) + " not where it should be";
    const settle::Band band = band_of(*size);
    constexpr double kAsGoodAs = 0.02;
    if (band.high < kAsGoodAs) return "valve " + id(fault.at) + " shut" + instead;
    if (band.low > 1.0 - kAsGoodAs) return "valve " + id(fault.at) + " fully open" + instead;
    return fmt::format("valve {} {} open{}", id(fault.at), percents(*size), instead);
}

std::string DiagnoseWords::at_pump(const Fault& fault, const SizeRange* size) const {
    const std::string pump = "pump " + id(fault.at);
    switch (fault.kind) {
        case FaultKind::blocked_screen: return blocked("the intake of " + pump, "its area", size);
        case FaultKind::worn_pump:
            return size == nullptr ? pump + " worn or clogged" : fmt::format("{} worn or clogged, {} of its head lost", pump, percents(*size));
        case FaultKind::slow_pump: return size == nullptr ? pump + " slow" : fmt::format("{} at {} of its speed", pump, percents(*size));
        case FaultKind::backward_pump: return pump + " turning backwards (three-phase, two wires swapped)";
        case FaultKind::pump_stopped: return pump + " standing still, though it should run";
        case FaultKind::pump_running: return pump + " running, though it should stand still";
        case FaultKind::other_curve:
            switch (fault.which) {
                case 0: return "the curve of " + pump + " in US gallons, entered as imperial ones";
                case 1: return "the curve of " + pump + " in imperial gallons, entered as US ones";
                case 2: return "the curve of " + pump + " in feet of head, entered as metres";
                default: return "the curve of " + pump + " in metres of head, entered as feet";
            }
        case FaultKind::check_missing: return "the check valve of " + pump + " missing or stuck open";
        case FaultKind::check_stuck: return "the check valve of " + pump + " stuck shut";
        default: return "pumps " + id(fault.at) + " and " + id(fault.other) + " swapped";
    }
}

std::string DiagnoseWords::at_overflow(const Fault& fault, const SizeRange* size) const {
    const std::string standpipe = "standpipe " + id(fault.at);
    switch (fault.kind) {
        case FaultKind::blocked_standpipe: return blocked(standpipe, "its opening", size);
        case FaultKind::blocked_hole: return blocked("the drain-holes of " + standpipe, "their area", size);
        case FaultKind::wrong_insert:
            return fmt::format("the insert '{}' in {}, not the one the arrangement says",
                               layout_.standpipes[at(fault.at.index)].inserts[at(fault.which)].name, standpipe);
        case FaultKind::standpipe_out: return standpipe + " pulled out, or broken off at the floor";
        case FaultKind::loose_standpipe:
            return size == nullptr ? standpipe + " leaking at its foot"
                                   : fmt::format("{} leaking at its foot, as through a hole of {}", standpipe, hole(speech_, *size));
        default: return fmt::format("the inserts of standpipes {} and {} swapped", id(fault.at), id(fault.other));
    }
}

std::string DiagnoseWords::at_water(const Fault& fault, const SizeRange* size) const {
    const std::string& vessel = id(fault.at);
    if (fault.kind == FaultKind::leak) {
        const std::string place =
            fault.at.kind == Kind::vessel ? "vessel " + vessel + " leaking at its floor" : "a leak at tee " + vessel + ", or a bypass left open";
        return size == nullptr ? place : fmt::format("{}, as through a hole of {}", place, hole(speech_, *size));
    }
    const layout::Vessel& own = layout_.vessels[at(fault.at.index)];
    const double now_m3 = layout::volume_at_depth(own, layout::said(own.start_depth_m) ? own.start_depth_m : 0.0);
    const bool less = fault.kind == FaultKind::low_water;
    const double room_m3 = less ? now_m3 : own.volume.back().volume_m3 - now_m3;
    if (size == nullptr) return less ? "water missing from " + vessel : "too much water in " + vessel;
    const settle::Band share = band_of(*size);
    const std::string much = speech_.volume(size->best * room_m3, {.low = share.low * room_m3, .high = share.high * room_m3});
    return fmt::format("{} {} water in the farm than drawn (counted at {})", much, less ? "less" : "more", vessel);
}

std::string DiagnoseWords::swapped_ends(const Fault& fault) const {
    return fmt::format("the ends of {} and {} swapped ({} leads to {}, {} to {})", id(fault.at), id(fault.other), id(fault.at),
                       layout_.pipes[at(fault.other.index)].to.id, id(fault.other), layout_.pipes[at(fault.at.index)].to.id);
}

std::string DiagnoseWords::fault(const Fault& fault, const SizeRange* size) const {
    const std::string& own = id(fault.at);
    switch (fault.kind) {
        case FaultKind::blocked_pipe: return blocked("pipe " + own, "its area", size);
        case FaultKind::blocked_drain: return blocked("drain " + own, "its area", size);
        case FaultKind::blocked_nozzle: return blocked("nozzle " + own, "its area", size);
        case FaultKind::valve_elsewhere: return valve_elsewhere(fault, size);
        case FaultKind::trapped_air:
            return size == nullptr ? "air trapped in " + own
                                   : fmt::format("air trapped in {}, which costs {} of head", own, speech_.height(size->best, band_of(*size)));
        case FaultKind::siphon_does_not_start:
            return size == nullptr ? "siphon " + own + " not starting"
                                   : fmt::format("siphon {} needing {} the flow it should to start", own, times(*size));
        case FaultKind::siphon_does_not_stop: return "siphon " + own + " not breaking";
        case FaultKind::blocked_siphon: return blocked("siphon " + own, "its area", size);
        case FaultKind::outfall_low:
            return size == nullptr ? "the end of " + own + " under water"
                                   : fmt::format("the end of {} lying {} lower than drawn", own, speech_.height(size->best, band_of(*size)));
        case FaultKind::dirty_filter:
            return size == nullptr ? "filter " + own + " dirty" : fmt::format("filter {} dirtier than said: {} its loss", own, times(*size));
        case FaultKind::supply_elsewhere: {
            if (size == nullptr) return "supply " + own + " at another pressure than drawn";
            const double head_m = layout_.supplies[at(fault.at.index)].head_m;
            const settle::Band share = band_of(*size);
            return fmt::format("supply {} at {} of head, not {}", own,
                               speech_.head(size->best * head_m, {.low = share.low * head_m, .high = share.high * head_m}), speech_.head(head_m));
        }
        case FaultKind::float_stuck_open: return "float valve " + own + " stuck open";
        case FaultKind::float_stuck_shut: return "float valve " + own + " stuck shut";
        case FaultKind::pond_elsewhere: {
            if (size == nullptr) return "the level of " + own + " other than drawn";
            const double level_m = layout_.ponds[at(fault.at.index)].level_m;
            const settle::Band off = band_of(*size);
            return fmt::format("the level of {} at {}, not {}", own,
                               speech_.level(level_m + size->best, {.low = level_m + off.low, .high = level_m + off.high}), speech_.level(level_m));
        }
        case FaultKind::swapped_valves: return fmt::format("valves {} and {} swapped", own, id(fault.other));
        case FaultKind::swapped_ends: return swapped_ends(fault);
        case FaultKind::leak:
        case FaultKind::low_water:
        case FaultKind::much_water: return at_water(fault, size);
        default: return fault.at.kind == Kind::pump ? at_pump(fault, size) : at_overflow(fault, size);
    }
}

std::string DiagnoseWords::explanation(const Explanation& explanation, std::span<const Fault> faults) const {
    if (explanation.faults.empty()) return "nothing wrong, or nothing that these readings show";
    std::string text;
    for (std::size_t k = 0; k < explanation.faults.size(); ++k)
        text += (k == 0 ? "" : ", and ") + fault(faults[explanation.faults[k]], &explanation.sizes[k]);
    return text;
}

std::string DiagnoseWords::observable(const Observable& what) const {
    const std::string& of = id(what.of);
    std::string text;
    switch (what.quantity) {
        case Quantity::depth: text = "depth of " + of; break;
        case Quantity::flow: text = "flow of " + of; break;
        case Quantity::pressure: text = what.of.kind == Kind::filter ? "pressure drop over " + of : "pressure at " + of; break;
        case Quantity::fall_time:
        case Quantity::rise_time:
            text = fmt::format("{} to {} from {} to {}", of, what.quantity == Quantity::fall_time ? "fall" : "rise", speech_.height(what.from_m),
                               speech_.height(what.to_m));
            break;
        case Quantity::spills: text = of + " over its rim"; break;
        case Quantity::overflows: text = "water over the lip of " + of; break;
        case Quantity::siphon: text = "siphon " + of; break;
        case Quantity::moves: text = "level of " + of; break;
        case Quantity::draws_air: text = "air into pump " + of; break;
    }
    if (visits_.size() > 1) text += ", " + arrangement(what.visit);
    return text;
}

std::string DiagnoseWords::way_to_read(const Observable& what) const {
    const std::string& of = id(what.of);
    std::string text;
    switch (what.quantity) {
        case Quantity::depth: text = "tape in " + of; break;
        case Quantity::flow: text = "bucket and watch at " + of; break;
        case Quantity::pressure: text = "gauge at " + of; break;
        case Quantity::fall_time:
        case Quantity::rise_time: text = "tape and watch at " + of; break;
        case Quantity::spills: text = "look whether " + of + " runs over its rim"; break;
        case Quantity::overflows: text = "look whether water goes over the lip of " + of; break;
        case Quantity::siphon: text = "look what siphon " + of + " does"; break;
        case Quantity::moves: text = "mark the level of " + of + ", look again after some minutes"; break;
        case Quantity::draws_air: text = "look and listen whether pump " + of + " draws air"; break;
    }
    if (visits_.size() > 1) text += ", " + arrangement(what.visit);
    return text;
}

std::string DiagnoseWords::value(const Observable& what, double value, double spread) const {
    if (std::isnan(value)) return "-";
    switch (what.quantity) {
        case Quantity::depth: return speech_.height(value, {.low = value - spread, .high = value + spread});
        case Quantity::flow: {
            const settle::Band band{.low = value - spread, .high = value + spread};
            return spread > 0.0 ? speech_.flow(value, band) : speech_.flow(value);
        }
        case Quantity::pressure: return speech_.head(value);
        case Quantity::fall_time:
        case Quantity::rise_time: return value >= 0.1 * diagnose::kNever_s ? "never" : Speech::duration(value);
        case Quantity::siphon: return value < 0.5 ? "silent" : value < 1.5 ? "dribbles" : value < 2.5 ? "runs on" : "cycles";
        case Quantity::moves: return spread > 0.0 ? "falls or rises" : value < -0.5 ? "falls" : value > 0.5 ? "rises" : "stays";
        default: return value > 0.5 ? "yes" : "no";
    }
}

std::string DiagnoseWords::plus_minus(const diagnose::Reading& reading) const {
    if (diagnose::is_glance(reading.what.quantity)) return {};
    return "+- " + value(reading.what, 2.0 * reading.sigma);
}

}  // namespace ebb::cli
