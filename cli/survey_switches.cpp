#include "cli/survey_switches.h"

#include <fmt/format.h>

#include <algorithm>
#include <utility>

#include "cli/messages.h"
#include "cli/session.h"
#include "cli/words.h"

namespace ebb::cli {
namespace {

using layout::Kind;

std::size_t at(std::int32_t index) { return static_cast<std::size_t>(index); }

template <typename Things>
std::int32_t index_in(const Things& things, const std::string& id) {
    const auto found = std::find_if(things.begin(), things.end(), [&](const auto& thing) { return thing.id == id; });
    return found == things.end() ? -1 : static_cast<std::int32_t>(found - things.begin());
}

bool is_quote(char letter) { return letter == '\'' || letter == '"'; }

/// Reads a name from `begin` on, up to one of `ends` or the quote that closes it, and moves `begin` behind it. False: the quote is never closed.
bool read_name(std::string_view text, std::string_view ends, std::size_t& begin, std::string& to) {
    if (begin >= text.size() || !is_quote(text[begin])) {
        const std::size_t end = std::min(text.find_first_of(ends, begin), text.size());
        to = text.substr(begin, end - begin);
        begin = end;
        return true;
    }
    const char quote = text[begin++];
    while (begin < text.size()) {
        const char letter = text[begin++];
        if (letter == quote && (begin == text.size() || text[begin] != quote)) return true;
        if (letter == quote) ++begin;  // twice: itself
        to.push_back(letter);
    }
    return false;
}

std::string quoted(const std::string& name) {
    if (!name.empty() && name.find_first_of(" ,=") == std::string::npos && !is_quote(name.front())) return name;
    std::string text = "'";
    for (const char letter : name) text += letter == '\'' ? std::string("''") : std::string(1, letter);
    return text + '\'';
}

class Switches {
public:
    Switches(const layout::Layout& layout, const layout::Conditions& arrangement, const std::string& file)
        : layout_(layout), arrangement_(arrangement), file_(file) {}

    /// Nothing: told why.
    std::optional<survey::Switch> read(const SwitchSaid& said) const {
        const std::int32_t valve = index_in(layout_.valves, said.name), pump = index_in(layout_.pumps, said.name),
                           standpipe = index_in(layout_.standpipes, said.name), vessel = index_in(layout_.vessels, said.name);
        if (standpipe >= 0) return insert_of(standpipe, said);
        if (!said.insert.empty() && (valve >= 0 || pump >= 0 || vessel >= 0)) {
            tell(fmt::format("'{}={}': only a standpipe has inserts", said.name, said.insert));
            return std::nullopt;
        }
        if (valve >= 0) return with_handle(valve, said.name);
        if (pump >= 0) return survey::Switch{.thing = {Kind::pump, pump}};
        if (vessel >= 0) return feed_of(vessel);
        return not_a_switch(said.name);
    }

private:
    std::optional<survey::Switch> with_handle(std::int32_t valve, const std::string& name) const {
        if (physics::valve_is_one_way(layout_.valves[at(valve)].kind)) {
            tell(fmt::format("'{}' is a {} valve: it has no handle to be shut by", name, physics::valve_kind_name(layout_.valves[at(valve)].kind)));
            return std::nullopt;
        }
        return survey::Switch{.thing = {Kind::valve, valve}};
    }

    std::optional<survey::Switch> insert_of(std::int32_t index, const SwitchSaid& said) const {
        const layout::Standpipe& standpipe = layout_.standpipes[at(index)];
        const std::int32_t fitted = arrangement_.insert[at(index)];
        std::vector<std::string> others;
        for (std::size_t i = 0; i < standpipe.inserts.size(); ++i)
            if (static_cast<std::int32_t>(i) != fitted) others.push_back(standpipe.inserts[i].name);
        if (others.empty()) {
            tell(fmt::format("'{}' has one insert only: there is nothing to switch", standpipe.id));
            return std::nullopt;
        }
        if (said.insert.empty() && others.size() > 1) {
            tell(fmt::format("'{}' has several other inserts: say which, as in {}", standpipe.id, switch_word(standpipe.id, others.front())));
            return std::nullopt;
        }
        const std::string& wanted = said.insert.empty() ? others.front() : said.insert;
        for (std::size_t i = 0; i < standpipe.inserts.size(); ++i) {
            if (standpipe.inserts[i].name != wanted) continue;
            if (static_cast<std::int32_t>(i) != fitted) return survey::Switch{.thing = {Kind::standpipe, index}, .other_insert = static_cast<int>(i)};
            tell(fmt::format("'{}' is fitted in '{}' anyway: name the other insert, {}", wanted, standpipe.id, quoted_list(others, 8)));
            return std::nullopt;
        }
        const auto begun = std::find_if(others.begin(), others.end(), [&](const std::string& other) {
            return other.size() > wanted.size() && other.starts_with(wanted) && (other[wanted.size()] == ' ' || other[wanted.size()] == ',');
        });
        tell(fmt::format("'{}' has no insert '{}'; {}", standpipe.id, wanted,
                         begun == others.end() ? "it has " + quoted_list(others, 8)
                                               : fmt::format("write \"{}\", with quotes round the whole name", switch_word(standpipe.id, *begun))));
        return std::nullopt;
    }

    /// A vessel stands for its feed valve where no one could mean another: one pipe leads in, and one valve with a handle is in it.
    std::optional<survey::Switch> feed_of(std::int32_t vessel) const {
        const auto leads_in = [&](const layout::Pipe& pipe) {
            if (pipe.gravity) return false;
            if (pipe.to.ref.kind == Kind::nozzle) return layout_.nozzles[at(pipe.to.ref.index)].into == layout::Ref{Kind::vessel, vessel};
            return pipe.to.ref == layout::Ref{Kind::vessel, vessel};
        };
        const std::string& id = layout_.vessels[at(vessel)].id;
        if (layout_.vessels[at(vessel)].kind != layout::VesselKind::sump &&  // nobody thinks of a sump as switched
            std::count_if(layout_.pipes.begin(), layout_.pipes.end(), leads_in) == 1) {
            const layout::Pipe& feed = *std::find_if(layout_.pipes.begin(), layout_.pipes.end(), leads_in);
            std::vector<std::int32_t> handles;
            for (const std::int32_t valve : feed.valves)
                if (!physics::valve_is_one_way(layout_.valves[at(valve)].kind)) handles.push_back(valve);
            if (handles.size() == 1) return survey::Switch{.thing = {Kind::valve, handles.front()}};
            tell(fmt::format("'{}' is fed through '{}', which has {}; name the valve, pump or standpipe that is meant", id, feed.id,
                             handles.empty() ? "no valve that can be shut" : "several valves"));
            return std::nullopt;
        }
        tell(fmt::format("'{}' is a {} without one pipe of its own that feeds it; name the valve, pump or standpipe that is meant", id,
                         layout::name_of(layout_.vessels[at(vessel)].kind)));
        return std::nullopt;
    }

    std::optional<survey::Switch> not_a_switch(const std::string& name) const {
        for (const layout::Pipe& pipe : layout_.pipes) {
            if (pipe.id != name) continue;
            std::vector<std::string> valves;
            for (const std::int32_t valve : pipe.valves) valves.push_back(switch_word(layout_.valves[at(valve)].id));
            tell(fmt::format("'{}' is a pipe: it cannot be switched{}", name,
                             valves.empty() ? "; it has no valve" : fmt::format(", but its valve can: {}", listed(valves, 8))));
            return std::nullopt;
        }
        if (has_id(name)) {
            tell(fmt::format("'{}' cannot be switched: only valves, pumps and standpipes can", name));
            return std::nullopt;
        }
        Names names = names_of("valve, pump or standpipe", layout_.valves);
        for (const layout::Pump& pump : layout_.pumps) names.known.push_back(pump.id);
        for (const layout::Standpipe& standpipe : layout_.standpipes) names.known.push_back(standpipe.id);
        index_of(name, names, file_);
        return std::nullopt;
    }

    bool has_id(const std::string& name) const {
        return index_in(layout_.tees, name) >= 0 || index_in(layout_.filters, name) >= 0 || index_in(layout_.nozzles, name) >= 0 ||
               index_in(layout_.siphons, name) >= 0 || index_in(layout_.ponds, name) >= 0 || index_in(layout_.supplies, name) >= 0 ||
               index_in(layout_.float_valves, name) >= 0;
    }

    const layout::Layout& layout_;
    const layout::Conditions& arrangement_;
    const std::string& file_;
};

/// The first time that this name is said.
bool is_first(const std::vector<SwitchSaid>& switches, const SwitchSaid& said) {
    return &said == &*std::find_if(switches.begin(), switches.end(), [&](const SwitchSaid& other) { return other.name == said.name; });
}

}  // namespace

SwitchText read_switches(std::string_view text) {
    constexpr std::string_view kBetween = " ,", kAfterName = " ,=";
    SwitchText read;
    for (std::size_t begin = 0; (begin = text.find_first_not_of(kBetween, begin)) < text.size();) {
        const std::size_t word = begin;
        SwitchSaid said;
        bool closed = read_name(text, kAfterName, begin, said.name);
        const bool has_insert = closed && begin < text.size() && text[begin] == '=';
        if (has_insert) closed = read_name(text, kBetween, ++begin, said.insert);
        if (!closed) {
            read.wrong = fmt::format("a quote is never closed in '{}'; write \"VB1 SB1='very short'\"", text.substr(word));
            return read;
        }
        const bool ended = begin == text.size() || kBetween.find(text[begin]) != std::string_view::npos;
        if (said.name.empty() || (has_insert && said.insert.empty()) || !ended) {
            const std::size_t end = std::min(text.find_first_of(kBetween, begin), text.size());
            read.wrong =
                fmt::format("'{}' does not read as a thing to switch; write VB1, or SB1=short for a standpipe", text.substr(word, end - word));
            return read;
        }
        read.said.push_back(std::move(said));
    }
    return read;
}

std::string switch_word(const std::string& name, const std::string& insert) {
    return quoted(name) + (insert.empty() ? std::string() : '=' + quoted(insert));
}

std::optional<std::vector<survey::Switch>> named_switches(const layout::Layout& layout, const layout::Conditions& arrangement,
                                                          const SurveyRequest& request) {
    const Switches switches(layout, arrangement, request.common.layout_file);
    std::vector<survey::Switch> named;
    std::vector<std::string> names;  // as they were said
    bool good = true;
    for (const SwitchSaid& said : request.switches) {
        if (!is_first(request.switches, said)) {
            tell(fmt::format("--switch names '{}' twice", said.name));
            good = false;
            continue;
        }
        const std::optional<survey::Switch> one = switches.read(said);
        good = good && one;
        if (!one) continue;
        const auto same = std::find_if(named.begin(), named.end(), [&](const survey::Switch& other) { return other.thing == one->thing; });
        if (same != named.end()) {
            const std::string& before = names[static_cast<std::size_t>(same - named.begin())];
            tell(fmt::format("--switch names one valve twice, as '{}' and as '{}'", before, said.name));
            good = false;
        }
        named.push_back(*one);
        names.push_back(said.name);
    }
    if (!good) return std::nullopt;
    return named;
}

}  // namespace ebb::cli
