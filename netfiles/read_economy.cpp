// What things cost, and the limits of design.

#include <utility>

#include "netfiles/reading.h"

namespace ebb::netfiles {
namespace {

/// True for the first of its kind; otherwise says so, with both places.
bool first_of_its_kind(Reading& reading, const Element& element, const layout::Place& before) {
    if (before.line < 1) {
        return true;
    }
    const std::string name(element.name());
    reading.context.report.add({name + "-twice", "", "there are two <" + name + "> elements", "keep one of them", ""}, element.place(), before);
    return false;
}

void read_hours(layout::Economy& economy, const Element& element) {
    constexpr double kSecondsOfHour = 3600.0;
    layout::YearlyHours hours;
    hours.place = element.place();
    hours.arrangement_name = element.text("arrangement");
    hours.hours = element.number("a-year") / kSecondsOfHour;
    if (element.sound()) {
        economy.hours.push_back(std::move(hours));
    }
}

void read_candidate(layout::Economy& economy, const Element& element) {
    layout::PumpCandidate candidate;
    candidate.place = element.place();
    candidate.model_name = element.text("model");
    candidate.most = element.count("most", 1);
    candidate.pump_id = element.text("pump");
    if (element.sound()) {
        economy.candidates.push_back(std::move(candidate));
    }
}

}  // namespace

void read_economy(Reading& reading, const Element& element) {
    if (!first_of_its_kind(reading, element, reading.layout.economy.place)) {
        return;
    }
    layout::Economy& economy = reading.layout.economy;
    economy.place = element.place();
    economy.currency = element.text("currency");
    economy.price_per_kwh = element.number("price-per-kwh");
    economy.years = element.number("years");
    economy.interest = element.number("interest");
    for (const pugi::xml_node& child : element.children()) {
        const Element part(reading.context, child, element.file(), *find_element(child.name()));
        (void)part.children();
        if (part.name() == "hours") {
            read_hours(economy, part);
        } else {
            read_candidate(economy, part);
        }
    }
}

void read_limits(Reading& reading, const Element& element) {
    (void)element.children();
    if (!first_of_its_kind(reading, element, reading.layout.limits.place)) {
        return;
    }
    layout::Limits& limits = reading.layout.limits;
    limits.place = element.place();
    limits.greatest_velocity_m_s = element.number("velocity");
    limits.greatest_suction_velocity_m_s = element.number("suction-velocity");
    limits.least_velocity_m_s = element.number("least-velocity");
    limits.greatest_drain_fill = element.number("drain-fill");
    limits.least_drain_velocity_m_s = element.number("drain-velocity");
}

}  // namespace ebb::netfiles
