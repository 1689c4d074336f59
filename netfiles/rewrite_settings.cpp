// What the design commands write into a layout: sizes, models, and how valves and pumps stand in an arrangement.

#include <algorithm>
#include <array>
#include <charconv>
#include <cmath>

#include "netfiles/extents.h"
#include "netfiles/markup.h"
#include "netfiles/rewrite.h"
#include "netfiles/units.h"

namespace ebb::netfiles {
namespace {

using layout::Act;
using layout::Kind;

constexpr double kSameShare = 1e-12;

bool same(double one, double other) { return std::abs(one - other) <= kSameShare; }

double share_said(const layout::Setting& line) {
    switch (line.act) {
        case Act::close:
        case Act::stop: return 0.0;
        case Act::throttle:
        case Act::load: return line.value;
        case Act::run: return layout::said(line.value) ? line.value : 1.0;
        default: return 1.0;
    }
}

/// How a line says a share.
struct Line {
    std::string word;
    std::string attribute;  ///< that may hold the share
    bool holds_share = false;
};
Line line_for(Kind kind, double share) {
    if (kind == Kind::pump) {
        return share <= 0.0 ? Line{"stop", "speed", false} : Line{"run", "speed", !same(share, 1.0)};
    }
    if (kind == Kind::filter) return {"load", "to", true};
    if (share <= kSameShare) {
        return {"close", "to", false};
    }
    return same(share, 1.0) || share > 1.0 ? Line{"open", "to", false} : Line{"throttle", "to", true};
}

const std::string& label_of(const layout::Layout& layout, const layout::Ref& about) {
    const auto index = static_cast<std::size_t>(about.index);
    if (about.kind == Kind::filter) return layout.filters[index].id;
    return about.kind == Kind::pump ? layout.pumps[index].id : layout.valves[index].id;
}

std::string markup_of(const layout::Layout& layout, const layout::Ref& about, double share) {
    const Line line = line_for(about.kind, share);
    return "<" + line.word +
           (about.kind == Kind::pump     ? " pump=\""
            : about.kind == Kind::filter ? " filter=\""
                                         : " valve=\"") +
           escaped_value(label_of(layout, about)) + "\"" + (line.holds_share ? " " + line.attribute + "=\"" + share_text(share) + "\"" : "") + "/>";
}

std::string without_spaces(std::string text) {
    std::erase(text, ' ');
    return text;
}

std::string shortest_text(double value) {
    std::array<char, 64> buffer{};
    return {buffer.data(), std::to_chars(buffer.data(), buffer.data() + buffer.size(), value).ptr};
}

}  // namespace

std::string share_text(double share) {
    constexpr double kPercent = 100.0, kReadsBack = 1e-9;
    constexpr int kMostDecimals = 17;
    std::array<char, 400> buffer{};
    for (int decimals = 0; decimals <= kMostDecimals; ++decimals) {
        const auto [end, error] = std::to_chars(buffer.data(), buffer.data() + buffer.size(), share * kPercent, std::chars_format::fixed, decimals);
        const std::string text(buffer.data(), error == std::errc() ? end : buffer.data());
        const Quantity read = parse_quantity(text + " %", Dimension::share);
        if (read.good() && std::abs(read.value - share) <= kReadsBack * std::abs(share)) {
            return text + " %";
        }
    }
    return std::string(buffer.data(), std::to_chars(buffer.data(), buffer.data() + buffer.size(), share).ptr);  // next to nothing: a plain ratio
}

void Rewrite::set_pipe_size(std::int32_t pipe, const std::string& size) {
    const layout::Pipe& drawn = read_->layout.pipes[static_cast<std::size_t>(pipe)];
    const auto [file, offset] = where(drawn.place);
    const std::vector<AttributePlace> places = attributes_at(read_->files[static_cast<std::size_t>(file)].text(), offset);
    const bool written = std::ranges::find(places, "size", &AttributePlace::name) != places.end();
    if (!written || without_spaces(drawn.size) != without_spaces(size)) {
        set_attribute(drawn.place, "size", size);
    }
}

void Rewrite::set_pump(std::int32_t pump, const std::string& model, int count) {
    const layout::Pump& drawn = read_->layout.pumps[static_cast<std::size_t>(pump)];
    if (drawn.model_name != model) {
        set_attribute(drawn.place, "model", model);
    }
    if (drawn.count != count) {
        set_attribute(drawn.place, "count", std::to_string(count));
    }
}

void Rewrite::set_valve_opening(std::int32_t arrangement, std::int32_t valve, double share) {
    shares_[{arrangement, {Kind::valve, valve}}] = std::clamp(share, 0.0, 1.0);
}

void Rewrite::set_pump_speed(std::int32_t arrangement, std::int32_t pump, double share) {
    shares_[{arrangement, {Kind::pump, pump}}] = std::max(share, 0.0);
}

void Rewrite::set_filter_load(std::int32_t arrangement, std::int32_t filter, double share) {
    shares_[{arrangement, {Kind::filter, filter}}] = std::clamp(share, 0.0, 1.0);
}

void Rewrite::set_pump_wear(std::int32_t pump, double share) {
    set_attribute(read_->layout.pumps[static_cast<std::size_t>(pump)].place, "wear", share_text(share));
}

void Rewrite::set_pipe_roughness(std::int32_t pipe, double roughness_m) {
    constexpr double kMillimetres = 1000.0;
    set_attribute(read_->layout.pipes[static_cast<std::size_t>(pipe)].place, "roughness", shortest_text(roughness_m * kMillimetres) + " mm");
}

void Rewrite::set_pipe_hazen_williams(std::int32_t pipe, double coefficient) {
    set_attribute(read_->layout.pipes[static_cast<std::size_t>(pipe)].place, "hazen-williams", shortest_text(coefficient));
}

std::int32_t Rewrite::base_of(std::int32_t arrangement) const {
    const std::vector<layout::Arrangement>& all = read_->layout.arrangements;
    const auto found = std::ranges::find(all, all[static_cast<std::size_t>(arrangement)].based_on, &layout::Arrangement::name);
    return found == all.end() ? -1 : static_cast<std::int32_t>(found - all.begin());
}

double Rewrite::share_of(const Thing& thing) const {
    if (const auto set = shares_.find(thing); set != shares_.end()) {
        return set->second;
    }
    for (const layout::Setting& line : read_->layout.arrangements[static_cast<std::size_t>(thing.arrangement)].settings) {
        if (line.about == thing.about) {
            return share_said(line);
        }
    }
    return share_below(thing);
}

/// What holds when the arrangement itself says nothing.
double Rewrite::share_below(const Thing& thing) const {
    const std::int32_t base = base_of(thing.arrangement);
    const double unsaid = thing.about.kind == Kind::filter ? 0.0 : 1.0;  // clean; open, at full speed
    return base < 0 ? unsaid : share_of({base, thing.about});
}

void Rewrite::apply_settings(Changes& changes) const {
    const layout::Layout& layout = read_->layout;
    std::map<std::int32_t, std::vector<std::string>> drawn;  // lines of the arrangement that stands in no file
    for (const auto& [thing, share] : shares_) {
        const layout::Arrangement& arrangement = layout.arrangements[static_cast<std::size_t>(thing.arrangement)];
        bool said = false;
        for (const layout::Setting& line : arrangement.settings) {
            if (line.about != thing.about) {
                continue;
            }
            said = true;
            if (same(share_said(line), share)) {
                continue;
            }
            const Line now = line_for(thing.about.kind, share);
            ElementChange& change = changes[where(line.place)];
            change.word = now.word;
            change.values[now.attribute] = now.holds_share ? std::optional<std::string>(share_text(share)) : std::nullopt;
        }
        if (said || same(share_below(thing), share)) {
            continue;
        }
        const std::string markup = markup_of(layout, thing.about, share);
        if (arrangement.place.line < 1) {
            drawn[thing.arrangement].push_back(markup);
        } else {
            changes[where(arrangement.place)].children.push_back(markup);
        }
    }
    for (const auto& [index, lines] : drawn) {
        std::string markup = "<arrangement name=\"" + escaped_value(layout.arrangements[static_cast<std::size_t>(index)].name) + "\">";
        for (const std::string& line : lines) {
            markup += "\n\t" + line;
        }
        changes[{0, root_of(read_->files[0].text()).begin}].children.push_back(markup + "\n</arrangement>");
    }
}

}  // namespace ebb::netfiles
