#include "cli/views/sheet.h"

#include <fmt/format.h>

#include <algorithm>
#include <vector>

#include "cli/views/page.h"
#include "cli/views/settings.h"
#include "cli/words.h"
#include "netfiles/rewrite.h"
#include "solver/diagnose/predict.h"

namespace ebb::cli {

namespace {

using diagnose::Quantity;
using layout::Kind;
using layout::Layout;
using layout::Ref;

std::size_t at(std::int32_t index) { return static_cast<std::size_t>(index); }

constexpr std::size_t kSheet = 90;  ///< columns of a printed page

/// A thing at which something is read.
struct Stop {
    layout::Place place;
    Ref of;
    std::string id;
};

/// All of them, in the order of the file.
std::vector<Stop> stops_of(const Layout& layout) {
    std::vector<Stop> stops;
    const auto add = [&](Kind kind, std::size_t index, const auto& thing) {
        stops.push_back({thing.place, {kind, static_cast<std::int32_t>(index)}, thing.id});
    };
    for (std::size_t v = 0; v < layout.vessels.size(); ++v) add(Kind::vessel, v, layout.vessels[v]);
    for (const diagnose::Observable& what : diagnose::observables_of(layout, 1, {})) {
        const std::size_t i = at(what.of.index);
        if (what.quantity == Quantity::overflows) add(Kind::standpipe, i, layout.standpipes[i]);
        if (what.quantity == Quantity::siphon) add(Kind::siphon, i, layout.siphons[i]);
        if (what.quantity == Quantity::draws_air) add(Kind::pump, i, layout.pumps[i]);
        if (what.quantity != Quantity::flow) continue;
        if (what.of.kind == Kind::pipe) add(Kind::pipe, i, layout.pipes[i]);
        if (what.of.kind == Kind::nozzle) add(Kind::nozzle, i, layout.nozzles[i]);
        if (what.of.kind == Kind::float_valve) add(Kind::float_valve, i, layout.float_valves[i]);
    }
    std::stable_sort(stops.begin(), stops.end(), [](const Stop& x, const Stop& y) {
        return std::tuple(x.place.file, x.place.line, x.place.column) < std::tuple(y.place.file, y.place.line, y.place.column);
    });
    return stops;
}

/// How the valves, pumps and standpipes are to stand.
std::string how_it_stands(const Layout& layout, std::int32_t arrangement) {
    const Settings set = settings_of(layout, layout::conditions_of(layout, arrangement), SettingsFor::hands);
    std::string text;
    if (!set.shut.empty()) text += wrapped("  shut:  ", listed(set.shut, set.shut.size()), kSheet);
    if (!set.others.empty()) text += wrapped("  set:   ", listed(set.others, set.others.size()), kSheet);
    return text;
}

std::string asked_at(const Stop& stop, const std::string& length_unit, const std::string& volume_unit) {
    switch (stop.of.kind) {
        case Kind::vessel: return fmt::format("rim to water ________ {:<3} falls / stays / rises    over it: yes / no", length_unit);
        case Kind::standpipe: return "water goes over the lip:   yes / no";
        case Kind::siphon: return "silent / dribbles / runs on / comes and goes";
        case Kind::pump: return "draws air:   yes / no        gauge behind it ________";
        default: return fmt::format("bucket ________ {:<3} in ________ s", volume_unit);
    }
}

/// "--" may not stand in a comment.
std::string in_comment(std::string text) {
    for (std::size_t at = text.find("--"); at != std::string::npos; at = text.find("--", at)) text.replace(at, 2, "- -");
    return text;
}

std::string blank_line(const Stop& stop, bool us) {
    const std::string id = netfiles::escaped_value(stop.id);
    const char* length = us ? "in" : "mm";
    switch (stop.of.kind) {
        case Kind::vessel: return fmt::format("<level of=\"{}\" below-rim=\"? {}\"/>", id, length);
        case Kind::standpipe: return fmt::format("<overflow of=\"{}\" is=\"?\"/>", id);
        case Kind::siphon: return fmt::format("<siphon of=\"{}\" does=\"?\"/>", id);
        case Kind::pump: return fmt::format("<air of=\"{}\" is=\"?\"/>", id);
        default: return fmt::format("<bucket of=\"{}\" volume=\"{}\" seconds=\"?\"/>", id, us ? "5 gal" : "10 l");
    }
}

}  // namespace

std::string readings_sheet(const Subject& subject, std::span<const std::int32_t> arrangements) {
    const Layout& layout = subject.layout;
    const bool us = subject.speech.units() == layout::UnitSystem::us;
    const std::vector<Stop> stops = stops_of(layout);
    std::size_t widest = 4;
    for (const Stop& stop : stops) widest = std::max(widest, std::min<std::size_t>(width_of(stop.id), 20));
    std::string text = (layout.name.empty() ? std::string("A layout without a name") : layout.name) +
                       "\n\nReadings sheet        date ______________    read by ____________________\n";
    text += wrapped("  ",
                    "Read what is odd first, then what is next to it; leave blank what you do not read. A tape to 5 mm and a bucket of half a minute "
                    "are good enough.",
                    kSheet);
    for (const std::int32_t arrangement : arrangements) {
        text += fmt::format("\nArrangement '{}'\n", layout.arrangements[at(arrangement)].name);
        text += how_it_stands(layout, arrangement);
        text += "  It ran so, and no level moved any more:   yes / no     since ________\n\n";
        for (const Stop& stop : stops)
            text += fmt::format("  {}{}  {}\n", stop.id, std::string(widest - std::min(widest, width_of(stop.id)), ' '),
                                asked_at(stop, us ? "in" : "mm", us ? "gal" : "l"));
        text += "\n  seen besides: ______________________________________________________________________\n";
    }
    text += "\nTake care\n";
    text += wrapped("  - ",
                    "Dry hands at switches; pumps switched off and unplugged before a hand goes near an intake. Electricity at water: "
                    "residual-current protection.",
                    kSheet);
    text +=
        wrapped("  - ", "Nobody leans into a sump or a sludge tank alone: gas, and no way out. Wet floors, edges of tanks, heavy buckets.", kSheet);
    text += wrapped(
        "  - ",
        "Put every valve back before you go: no fresh water is no air for the fish. Local rules and those licensed to apply them have the last word.",
        kSheet);
    return text;
}

std::string blank_readings(const Subject& subject, std::span<const std::int32_t> arrangements) {
    const Layout& layout = subject.layout;
    const bool us = subject.speech.units() == layout::UnitSystem::us;
    std::string text = "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n<!--\n  Readings to be filled in: put a figure or a word in place of each ? you "
                       "have read, and take its line out of the\n"
                       "  comment. What was not read stays as it is. How sure a reading is: plus-minus=\"5 mm\", plus-minus=\"5 %\".\n"
                       "    moves=\"falls|stays|rises\"   is=\"yes|no\"   does=\"silent|dribbles|runs|cycles\"\n-->\n<readings>\n";
    for (const std::int32_t arrangement : arrangements) {
        text += fmt::format("  <when arrangement=\"{}\">\n", netfiles::escaped_value(layout.arrangements[at(arrangement)].name));
        for (const Stop& stop : stops_of(layout)) text += "    <!-- " + in_comment(blank_line(stop, us)) + " -->\n";
        text += "  </when>\n";
    }
    return text + "</readings>\n";
}

}  // namespace ebb::cli
