// What is not known exactly: each line speaks of things that have what it says, and no two lines say the same of one thing.

#include <array>
#include <map>
#include <string>
#include <utility>

#include "solver/layout/checks.h"

namespace ebb::layout {
namespace {

struct Said {
    std::string_view attribute;
    double PlusMinus::*value;
    Kind of;
    double most;
};
constexpr std::array kSaid = {
    Said{"roughness", &PlusMinus::roughness, Kind::pipe, 9.0},
    Said{"hazen-williams", &PlusMinus::hazen_williams, Kind::pipe, 0.5},
    Said{"bore", &PlusMinus::bore, Kind::pipe, 0.1},
    Said{"losses", &PlusMinus::losses, Kind::pipe, 9.0},
    Said{"start-depth", &PlusMinus::start_depth_m, Kind::vessel, 1.0},
    Said{"level", &PlusMinus::level_m, Kind::pond, 1.0},
    Said{"pump-head", &PlusMinus::pump_head, Kind::pump, 0.5},
    Said{"filter-load", &PlusMinus::filter_load, Kind::filter, 0.5},
};

using SaidBefore = std::map<std::pair<std::string, std::string_view>, const PlusMinus*>;

/// One line says something of one thing (`id`; empty: of all).
void check_once(Checks& checks, const PlusMinus& line, const std::string& id, const Said& said_of, SaidBefore& before) {
    const auto [first, fresh] = before.try_emplace({id, said_of.attribute}, &line);
    if (!fresh) {
        const std::string whose = id.empty() ? std::string("everything that is not named") : id;
        checks.add({"plus-minus-twice", id, "two lines say the plus-minus of the " + std::string(said_of.attribute) + " of " + whose,
                    "keep one of them", std::string(said_of.attribute)},
                   line.place, first->second->place);
    }
}

/// Figures of layouts made in C++ too; false when there is nothing in the line.
bool check_figures(Checks& checks, const PlusMinus& line) {
    bool any = false;
    for (const Said& one : kSaid) {
        const double value = line.*one.value;
        any = any || said(value);
        if (value < 0.0 || value > one.most) {
            checks.add({"out-of-bounds", "plus-minus", "the plus-minus of " + std::string(one.attribute) + " (" + figure(value) + ") is not possible",
                        "write nothing or more, and at most " + figure(one.most), std::string(one.attribute)},
                       line.place);
        }
    }
    return any;
}

void check_line(Checks& checks, PlusMinus& line, SaidBefore& before) {
    if (!check_figures(checks, line)) {
        checks.add({"plus-minus-empty", "plus-minus", "a plus-minus says nothing", "write what is in question, for example roughness=\"50 %\""},
                   line.place);
        return;
    }
    line.of.clear();
    for (const std::string& id : line.of_ids) {
        line.of.push_back(
            checks.resolve(id, {Kind::pipe, Kind::vessel, Kind::pond, Kind::pump, Kind::filter}, {id, "plus-minus of", "of", line.place}));
    }
    for (const Said& one : kSaid) {
        if (!said(line.*one.value)) {
            continue;
        }
        if (line.of_ids.empty()) {
            check_once(checks, line, {}, one, before);
            continue;
        }
        bool fits = false;
        for (std::size_t i = 0; i < line.of.size(); ++i) {
            if (line.of[i].kind == one.of || line.of[i].index < 0) {
                fits = true;
                check_once(checks, line, line.of_ids[i], one, before);
            }
        }
        if (!fits) {
            checks.add({"plus-minus-of-what", line.of_ids.front(),
                        "a plus-minus of " + std::string(one.attribute) + " is said, but of nothing that has one: it names no " + name_of(one.of),
                        "name a " + std::string(name_of(one.of)) + " in of=, or leave " + std::string(one.attribute) + "= out",
                        std::string(one.attribute)},
                       line.place);
        }
    }
}

}  // namespace

void check_plus_minus(Checks& checks) {
    SaidBefore before;
    for (PlusMinus& line : checks.layout.plus_minus) {
        check_line(checks, line, before);
    }
}

}  // namespace ebb::layout
