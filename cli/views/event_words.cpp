#include "cli/views/event_words.h"

#include <fmt/format.h>

#include <array>
#include <cmath>

#include "cli/words.h"

namespace ebb::cli {
namespace {

using time::Happening;

/// How one kind of event is said of one thing and of several; {} is what it happens to.
struct Saying {
    Happening what;
    const char* one;
    const char* many;
    bool of_vessel = false;  ///< said of the vessel a standpipe or siphon stands in, not of the device
};

constexpr auto kSayings = std::to_array<Saying>({
    {Happening::valve_opens, "{} opens", "{} open"},
    {Happening::valve_closes, "{} closes", "{} close"},
    {Happening::power_fails, "the power fails", "the power fails"},
    {Happening::power_returns, "the power returns", "the power returns"},
    {Happening::pump_stops, "{} stops", "{} stop"},
    {Happening::pump_restarts, "{} starts again", "{} start again"},
    {Happening::siphon_starts, "the siphon in {} starts", "the siphons in {} start", true},
    {Happening::siphon_breaks, "the siphon in {} breaks", "the siphons in {} break", true},
    {Happening::reaches_lip, "{} is full to its lip", "{} are full to their lips", true},
    {Happening::falls_below_lip, "{} falls below its lip", "{} fall below their lips", true},
    {Happening::drained, "{} is drained", "{} are drained", true},
    {Happening::reaches_rim, "{} is full to its rim", "{} are full to their rims"},
    {Happening::intake_bare, "the intake of {} is bare and draws air", "the intakes of {} are bare and draw air"},
    {Happening::intake_covered, "the intake of {} is under water again", "the intakes of {} are under water again"},
    {Happening::leaves_rim, "{} stands below its rim again", "{} stand below their rims again"},
    {Happening::inlet_submerged, "the end of {} is under water now", "the ends of {} are under water now"},
    {Happening::inlet_free, "the end of {} stands free now", "the ends of {} stand free now"},
    {Happening::below_least_depth, "{} falls below its least depth", "{} fall below their least depths"},
    {Happening::draw_begins, "a draw from {} begins", "draws from {} begin"},
    {Happening::draw_ends, "the draw from {} ends", "the draws from {} end"},
    {Happening::draw_short, "{} has not the water that is wanted of it", "{} have not the water that is wanted of them"},
    {Happening::setting_changes, "{} is set anew", "{} are set anew"},
    {Happening::hose_ends, "the hose into {} has poured all it had", "the hoses into {} have poured all they had"},
});

const Saying& saying_of(Happening what) {
    for (const Saying& saying : kSayings) {
        if (saying.what == what) {
            return saying;
        }
    }
    return kSayings.front();  // unreached: a test goes through every Happening
}

/// The id a sentence speaks of.
std::string name_for(const layout::Layout& layout, const time::Event& event, bool of_vessel) {
    const auto index = static_cast<std::size_t>(event.about.index);
    if (of_vessel && event.about.kind == layout::Kind::standpipe && index < layout.standpipes.size()) {
        return layout.standpipes[index].in_id;
    }
    if (of_vessel && event.about.kind == layout::Kind::siphon && index < layout.siphons.size()) {
        return layout.siphons[index].in_id;
    }
    return event.about_id;
}

/// What did it, after the sentence; nothing when the sentence says it itself.
std::string reason(const time::Event& event) {
    const bool said_already =
        event.what == Happening::power_fails || event.what == Happening::power_returns || event.because == "draw" || event.because == "hose";
    return event.because.empty() || said_already ? std::string() : ": " + event.because;
}

}  // namespace

std::string sentence_of(const layout::Layout& layout, const std::vector<const time::Event*>& alike) {
    constexpr std::size_t kNamed = 6;
    const time::Event& first = *alike.front();
    const Saying& saying = saying_of(first.what);
    std::vector<std::string> names;
    for (const time::Event* event : alike) {
        names.push_back(name_for(layout, *event, saying.of_vessel));
    }
    return fmt::format(fmt::runtime(names.size() == 1 ? saying.one : saying.many), in_few_words(names, kNamed)) + reason(first);
}

std::string sentence_of(const layout::Layout& layout, const time::Event& event) { return sentence_of(layout, {&event}); }

bool alike(const time::Event& one, const time::Event& other) { return one.what == other.what && one.because == other.because; }

bool is_trouble(Happening what) {
    return what == Happening::reaches_rim || what == Happening::intake_bare || what == Happening::draw_short || what == Happening::below_least_depth;
}

std::string moment(double t_s) {
    if (!std::isfinite(t_s)) {
        return "-";
    }
    constexpr long kMinute = 60;
    constexpr long kHour = 3600;
    constexpr long kDay = 86400;
    constexpr long kDaysFrom = 2 * kDay;  // two days are still counted in hours
    const long whole = std::lround(t_s);
    const long minutes = whole / kMinute % kMinute;
    const long seconds = whole % kMinute;
    if (whole <= kDaysFrom) {
        return fmt::format("{}:{:02}:{:02}", whole / kHour, minutes, seconds);
    }
    return fmt::format("day {}, {:02}:{:02}:{:02}", whole / kDay + 1, whole % kDay / kHour, minutes, seconds);
}

}  // namespace ebb::cli
