#include "solver/layout/checks.h"

#include <algorithm>
#include <array>
#include <charconv>
#include <cmath>
#include <utility>

#include "solver/layout/nearest.h"

namespace ebb::layout {

void Checks::add(Finding finding, const Place& place, const Place& other) {
    Problem problem;
    problem.code = std::move(finding.code);
    problem.about = std::move(finding.about);
    problem.says = std::move(finding.says);
    problem.advice = std::move(finding.advice);
    problem.attribute = std::move(finding.attribute);
    problem.place = place;
    problem.other_place = other;
    problems.push_back(std::move(problem));
}

void Checks::enter(const std::string& id, Ref ref, const Place& place) {
    if (id.empty()) {
        return;  // without a label nothing can refer to it; the reader has asked for one
    }
    if (const Named* const earlier = things_.enter({id, ref, place}); earlier != nullptr) {
        add({"label-twice", id,
             std::string("the label ") + in_quotes(id) + " is given twice: to a " + name_of(earlier->ref.kind) + " and to a " + name_of(ref.kind),
             "give one of them another label", "id"},
            place, earlier->place);
    }
}

void Checks::enter_labels() {
    const auto enter_all = [this](const auto& list, Kind kind) {
        std::int32_t index = 0;
        for (const auto& thing : list) {
            enter(thing.id, {kind, index++}, thing.place);
        }
    };
    things_.reserve(layout.vessels.size() + layout.ponds.size() + layout.tees.size() + layout.pumps.size() + layout.filters.size() +
                    layout.nozzles.size() + layout.supplies.size() + layout.float_valves.size() + layout.standpipes.size() + layout.siphons.size() +
                    layout.pipes.size() + layout.valves.size());
    enter_all(layout.vessels, Kind::vessel);
    enter_all(layout.ponds, Kind::pond);
    enter_all(layout.tees, Kind::tee);
    enter_all(layout.pumps, Kind::pump);
    enter_all(layout.filters, Kind::filter);
    enter_all(layout.nozzles, Kind::nozzle);
    enter_all(layout.supplies, Kind::supply);
    enter_all(layout.float_valves, Kind::float_valve);
    enter_all(layout.standpipes, Kind::standpipe);
    enter_all(layout.siphons, Kind::siphon);
    enter_all(layout.pipes, Kind::pipe);
    enter_all(layout.valves, Kind::valve);
}

std::string Checks::nearest_label(const std::string& id, std::initializer_list<Kind> wanted) const {
    constexpr int kMostSearches = 50;  // each looks at every label: enough for a person, bounded for a machine
    if (++searches_ > kMostSearches) {
        return {};
    }
    std::vector<std::string_view> candidates;
    for (const Named& named : things_.all()) {
        if (std::ranges::find(wanted, named.ref.kind) != wanted.end()) {
            candidates.push_back(named.label);
        }
    }
    std::ranges::sort(candidates);  // the answer must not depend on the order of the kinds
    return nearest_word(id, candidates);
}

Ref Checks::resolve(const std::string& id, std::initializer_list<Kind> wanted, const Referrer& referrer) {
    if (id.empty()) {
        return {};
    }
    const auto kinds = [&] {
        std::vector<std::string_view> names;
        for (const Kind kind : wanted) {
            names.emplace_back(name_of(kind));
        }
        return join_labels(names, "or");
    };
    const Named* const found = things_.find(id);
    const std::string attribute(referrer.attribute);
    if (found == nullptr) {
        const std::string near = nearest_label(id, wanted);
        add({"dangling", referrer.about,
             std::string(referrer.element) + " " + referrer.about + " names " + in_quotes(id) + ", which is nothing in this layout",
             near.empty() ? "name a " + kinds() + " of this layout, or add one called " + in_quotes(id) : "did you mean " + in_quotes(near) + "?",
             attribute},
            referrer.place);
        return {};
    }
    if (std::ranges::find(wanted, found->ref.kind) == wanted.end()) {
        add({"wrong-kind", referrer.about,
             std::string(referrer.element) + " " + referrer.about + ": " + attribute + "= names " + in_quotes(id) + ", which is a " +
                 name_of(found->ref.kind),
             "name a " + kinds(), attribute},
            referrer.place, found->place);
        return {};
    }
    return found->ref;
}

bool Checks::given(double value, const Referrer& referrer) {
    if (std::isfinite(value)) {
        return true;
    }
    add({"missing", referrer.about, std::string(referrer.element) + " " + referrer.about + " does not say its " + std::string(referrer.attribute),
         "say its " + std::string(referrer.attribute), ""},
        referrer.place);
    return false;
}

void Ends::count(std::int32_t pipe, bool gravity) {
    if (pipes == 0) {
        first = pipe;
    } else if (pipes == 1) {
        second = pipe;
    }
    ++pipes;
    drains += gravity ? 1 : 0;
}

Joints joints_of(const Layout& layout) {
    Joints joints;
    joints.vessels.resize(layout.vessels.size());
    joints.ponds.resize(layout.ponds.size());
    joints.tees.resize(layout.tees.size());
    joints.pumps.resize(layout.pumps.size());
    joints.filters.resize(layout.filters.size());
    joints.nozzles.resize(layout.nozzles.size());
    joints.supplies.resize(layout.supplies.size());
    joints.float_valves.resize(layout.float_valves.size());
    joints.standpipes.resize(layout.standpipes.size());
    joints.siphons.resize(layout.siphons.size());
    const auto joint_of = [&joints](const Ref& ref) -> Joint* {
        const auto index = static_cast<std::size_t>(ref.index);
        switch (ref.kind) {
            case Kind::vessel: return &joints.vessels[index];
            case Kind::pond: return &joints.ponds[index];
            case Kind::tee: return &joints.tees[index];
            case Kind::pump: return &joints.pumps[index];
            case Kind::filter: return &joints.filters[index];
            case Kind::nozzle: return &joints.nozzles[index];
            case Kind::supply: return &joints.supplies[index];
            case Kind::float_valve: return &joints.float_valves[index];
            case Kind::standpipe: return &joints.standpipes[index];
            case Kind::siphon: return &joints.siphons[index];
            case Kind::none:
            case Kind::pipe:
            case Kind::valve: break;
        }
        return nullptr;
    };
    std::int32_t index = 0;
    for (const Pipe& pipe : layout.pipes) {
        if (Joint* joint = joint_of(pipe.from.ref)) {
            joint->out.count(index, pipe.gravity);
        }
        if (Joint* joint = joint_of(pipe.to.ref)) {
            joint->in.count(index, pipe.gravity);
        }
        ++index;
    }
    return joints;
}

std::string in_quotes(std::string_view text) { return "\"" + std::string(text) + "\""; }

std::string figure(double value) {
    std::array<char, 64> buffer{};
    const auto [end, error] = std::to_chars(buffer.data(), buffer.data() + buffer.size(), value, std::chars_format::general, 4);
    return error == std::errc() && std::isfinite(value) ? std::string(buffer.data(), end) : "-";
}

std::string metres(double value) { return figure(value) + " m"; }

std::string join_labels(const std::vector<std::string_view>& labels, std::string_view joint) {
    std::string text;
    for (std::size_t i = 0; i < labels.size(); ++i) {
        if (i > 0) {
            text += i + 1 == labels.size() ? " " + std::string(joint) + " " : ", ";
        }
        text += labels[i];
    }
    return text;
}

}  // namespace ebb::layout
