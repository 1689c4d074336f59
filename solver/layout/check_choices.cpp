// What is to be chosen and what it costs: groups of pipes, hours of a year, candidates, limits; and water taken at tees.

#include <algorithm>
#include <numeric>
#include <unordered_map>
#include <utility>

#include "solver/layout/checks.h"
#include "solver/layout/nearest.h"

namespace ebb::layout {
namespace {

constexpr double kHoursOfYear = 8760.0;

/// The index of a name in a vector of named things; -1 when it is not there.
template <class Things>
std::int32_t index_of(const Things& things, const std::string& name) {
    const auto found = std::ranges::find(things, name, &Things::value_type::name);
    return found == things.end() ? -1 : static_cast<std::int32_t>(found - things.begin());
}

template <class Things>
std::string nearest_or_all(const Things& things, const std::string& name) {
    std::vector<std::string_view> names;
    for (const auto& thing : things) {
        names.push_back(thing.name);
    }
    const std::string near = nearest_word(name, names);
    return near.empty() ? "there are " + join_labels(names, "and") : "did you mean " + in_quotes(near) + "?";
}

void check_hours(Checks& checks) {
    std::unordered_map<std::string_view, const YearlyHours*> seen;
    double sum = 0.0;
    for (YearlyHours& hours : checks.layout.economy.hours) {
        hours.arrangement = index_of(checks.layout.arrangements, hours.arrangement_name);
        if (hours.arrangement < 0) {
            checks.add({"unknown-arrangement", hours.arrangement_name,
                        "hours are given for the arrangement " + in_quotes(hours.arrangement_name) + ", which is not there",
                        nearest_or_all(checks.layout.arrangements, hours.arrangement_name), "arrangement"},
                       hours.place);
        }
        const auto [first, fresh] = seen.try_emplace(hours.arrangement_name, &hours);
        if (!fresh) {
            checks.add({"hours-twice", hours.arrangement_name, "the hours of " + in_quotes(hours.arrangement_name) + " are given twice",
                        "write them once, all together", "arrangement"},
                       hours.place, first->second->place);
        }
        if (!checks.given(hours.hours, {hours.arrangement_name, "hours", "a-year", hours.place})) {
            continue;
        }
        if (hours.hours < 0.0) {
            checks.add({"out-of-bounds", hours.arrangement_name, "the hours of " + in_quotes(hours.arrangement_name) + " are less than nothing",
                        "write nothing or more", "a-year"},
                       hours.place);
        }
        sum += hours.hours;
        if (sum > kHoursOfYear * (1.0 + 1e-9) && sum - hours.hours <= kHoursOfYear * (1.0 + 1e-9)) {
            checks.add({"hours-over-a-year", hours.arrangement_name,
                        "with these the hours of the arrangements come to " + figure(sum) + " h, but a year has " + figure(kHoursOfYear) + " h",
                        "only one arrangement holds at a time: write how the year is shared among them", "a-year"},
                       hours.place);
        }
    }
}

void check_candidates(Checks& checks) {
    std::vector<const PumpCandidate*> seen;
    for (PumpCandidate& candidate : checks.layout.economy.candidates) {
        candidate.model = index_of(checks.layout.pump_models, candidate.model_name);
        if (candidate.model < 0) {
            const bool none = checks.layout.pump_models.empty();
            checks.add({"unknown-model", candidate.model_name, "the candidate " + in_quotes(candidate.model_name) + " is no pump-model that is known",
                        none ? "include a catalogue that holds it, or write <pump-model name=" + in_quotes(candidate.model_name) + " .../>"
                             : nearest_or_all(checks.layout.pump_models, candidate.model_name),
                        "model"},
                       candidate.place);
        }
        candidate.pump = checks.resolve(candidate.pump_id, {Kind::pump}, {candidate.model_name, "candidate", "pump", candidate.place}).index;
        if (candidate.most < 1) {
            checks.add({"out-of-bounds", candidate.model_name, "the candidate " + in_quotes(candidate.model_name) + " may be bought less than once",
                        "write most=\"1\" or more", "most"},
                       candidate.place);
        }
        const auto same = std::ranges::find_if(
            seen, [&](const PumpCandidate* other) { return other->model_name == candidate.model_name && other->pump_id == candidate.pump_id; });
        if (same != seen.end()) {
            checks.add({"candidate-twice", candidate.model_name, "the candidate " + in_quotes(candidate.model_name) + " is given twice",
                        "keep one of them", "model"},
                       candidate.place, (*same)->place);
        }
        seen.push_back(&candidate);
    }
}

/// Figures of layouts made in C++; the reader of files has looked at its own.
void check_rates(Checks& checks) {
    const Economy& economy = checks.layout.economy;
    const bool sound = !(economy.price_per_kwh < 0.0) && !(economy.years <= 0.0) && !(economy.interest < 0.0);
    if (!sound) {
        checks.add({"out-of-bounds", "economy", "the price of energy, the years or the interest are not possible",
                    "write a price and an interest of nothing or more, and more than no years"},
                   economy.place);
    }
}

void check_limits(Checks& checks) {
    const Limits& limits = checks.layout.limits;
    const auto crossed = [&](double least, double greatest, const std::string& word, std::string_view attribute) {
        if (least >= greatest) {  // false where one of them is not said
            checks.add({"limits-order", "limits",
                        std::string(attribute) + "= (" + figure(least) + " m/s) leaves no room below " + word + " (" + figure(greatest) + " m/s)",
                        "write a least velocity below the greatest", std::string(attribute)},
                       limits.place);
        }
    };
    crossed(limits.least_velocity_m_s, limits.greatest_velocity_m_s, "velocity=", "least-velocity");
    crossed(limits.least_velocity_m_s, limits.greatest_suction_velocity_m_s, "suction-velocity=", "least-velocity");
}

// ---- water taken at tees

/// Which things hang together by pipes, whatever the valves do.
class Joined {
public:
    explicit Joined(const Layout& layout)
        : tees_(layout.tees.size()), root_(tees_ + layout.filters.size() + layout.pumps.size() + 1), layout_(layout) {
        std::iota(root_.begin(), root_.end(), std::size_t{0});
        for (std::size_t p = 0; p < layout.pumps.size(); ++p) {
            if (layout.pumps[p].in.kind != Kind::none) {
                join(node({Kind::pump, static_cast<std::int32_t>(p)}), water());
            }
        }
        for (const Pipe& pipe : layout.pipes) {
            join(node(pipe.from.ref), node(pipe.to.ref));
        }
    }
    bool fed(std::size_t tee) { return find(tee) == find(water()); }

private:
    std::size_t water() const { return root_.size() - 1; }
    std::size_t node(const Ref& ref) const {
        const auto index = static_cast<std::size_t>(ref.index);
        switch (ref.kind) {
            case Kind::tee: return index;
            case Kind::filter: return tees_ + index;
            case Kind::pump: return tees_ + layout_.filters.size() + index;
            default: return water();
        }
    }
    std::size_t find(std::size_t thing) {
        while (root_[thing] != thing) {
            thing = root_[thing] = root_[root_[thing]];
        }
        return thing;
    }
    void join(std::size_t one, std::size_t other) { root_[find(one)] = find(other); }

    std::size_t tees_;
    std::vector<std::size_t> root_;
    const Layout& layout_;
};

void check_demand(Checks& checks, const Tee& tee) {
    const bool asks = tee.takes_m3_s != 0.0 || said(tee.least_pressure_m);
    if (tee.vented && asks) {
        checks.add({"vented-tee-takes", tee.id,
                    "tee " + tee.id + " is vented, and " + (tee.takes_m3_s != 0.0 ? "water is taken there" : "a pressure is wanted there"),
                    "take it at a tee that lets no air in, or from a vessel with <uptake>", tee.takes_m3_s != 0.0 ? "takes" : "least-pressure"},
                   tee.place);
    }
    if (!(tee.takes_m3_s >= 0.0) || tee.least_pressure_m < 0.0) {
        checks.add({"out-of-bounds", tee.id, "what tee " + tee.id + " takes, or the pressure wanted there, is not possible", "write nothing or more"},
                   tee.place);
    }
}

}  // namespace

void check_choices(Checks& checks) {
    std::unordered_map<std::string_view, const Pipe*> groups;
    for (const Pipe& pipe : checks.layout.pipes) {
        if (!pipe.choose) {
            continue;
        }
        if (pipe.sold_series < 0 || static_cast<std::size_t>(pipe.sold_series) >= checks.layout.sold_series.size() ||
            checks.layout.sold_series[static_cast<std::size_t>(pipe.sold_series)].sizes.empty()) {
            checks.add({"missing", pipe.id, "the size of " + pipe.id + " is to be chosen, but nothing says from what",
                        "give it a series whose sizes have prices"},
                       pipe.place);
            continue;
        }
        const auto [first, fresh] = groups.try_emplace(pipe.choose_group, &pipe);
        if (!fresh && first->second->sold_series != pipe.sold_series) {
            checks.add({"group-series", pipe.id,
                        pipe.id + " and " + first->second->id + " are to get one size, but they are of the series " + in_quotes(pipe.series) +
                            " and " + in_quotes(first->second->series),
                        "give both the same series, or another name in choose=", "choose"},
                       pipe.place, first->second->place);
        }
    }
}

void check_economy(Checks& checks) {
    check_hours(checks);
    check_candidates(checks);
    check_rates(checks);
    check_limits(checks);
    const physics::HazenConstants& hazen = checks.layout.hazen;
    if (!(hazen.factor > 0.0 && hazen.flow_power > 1.0 && hazen.bore_power > 0.0)) {
        checks.add({"out-of-bounds", checks.layout.name, "the constants of the Hazen-Williams law are not possible",
                    "write a factor and powers above nothing, about 10.67, 1.852 and 4.8704"},
                   {0, 1, 1});
    }
}

void check_taking(Checks& checks) {
    bool any = false;
    for (const Tee& tee : checks.layout.tees) {
        check_demand(checks, tee);
        any = any || tee.takes_m3_s > 0.0;
    }
    if (!any || !checks.problems.empty()) {
        return;  // only sound pipes tell what hangs together
    }
    Joined joined(checks.layout);
    for (std::size_t t = 0; t < checks.layout.tees.size(); ++t) {
        const Tee& tee = checks.layout.tees[t];
        if (tee.takes_m3_s > 0.0 && !joined.fed(t)) {
            checks.add({"tee-unfed", tee.id, "water is taken at tee " + tee.id + ", but no pipe brings any from a vessel, a pond or a supply",
                        "lead a pipe to it, or leave takes= out", "takes"},
                       tee.place);
        }
    }
}

}  // namespace ebb::layout
