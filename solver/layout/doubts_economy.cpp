// Doubts about what things cost: hours that leave a part of the year out, candidates that cost nothing, a price of energy in small coin.

#include <algorithm>
#include <array>
#include <unordered_set>

#include "solver/layout/doubting.h"

namespace ebb::layout {
namespace {

void doubt_hours(Doubts& doubts) {
    constexpr double kHoursOfYear = 8760.0, kWorthAsking_h = 1.0;
    const std::vector<YearlyHours>& hours = doubts.layout.economy.hours;
    double sum = 0.0;
    for (const YearlyHours& line : hours) {
        sum += line.hours;
    }
    if (!hours.empty() && kHoursOfYear - sum > kWorthAsking_h) {
        doubts.add({"hours-short", "economy",
                    "the hours of the arrangements come to " + figure(sum) + " h of the 8760 h of a year: does nothing run for the other " +
                        figure(kHoursOfYear - sum) + " h?",
                    "if something does, write an <hours> line for it"},
                   doubts.layout.economy.place);
    }
}

void doubt_candidates(Doubts& doubts) {
    std::unordered_set<std::int32_t> seen;
    for (const PumpCandidate& candidate : doubts.layout.economy.candidates) {
        if (!seen.insert(candidate.model).second) {
            continue;
        }
        const PumpModel& model = doubts.layout.pump_models[static_cast<std::size_t>(candidate.model)];
        if (!said(model.price)) {
            doubts.add({"candidate-price", model.name, "the candidate " + in_quotes(model.name) + " has no price: is it to be had for nothing?",
                        "write price= on its pump-model", "price"},
                       model.place, candidate.place);
        }
        if (!model.has_power && !model.from_label) {
            doubts.add({"candidate-power", model.name,
                        "the candidate " + in_quotes(model.name) + " does not say its power: what does it cost to run?",
                        "write power= or efficiency= on its points"},
                       model.place, candidate.place);
        }
    }
}

/// Energy costs a tenth to half a unit of these currencies a kWh (common practice); others have small units, and are not asked about.
void doubt_price(Doubts& doubts) {
    constexpr double kDear = 3.0;
    constexpr std::array<std::string_view, 8> kLargeUnits = {"", "EUR", "USD", "GBP", "CHF", "CAD", "AUD", "NZD"};
    const Economy& economy = doubts.layout.economy;
    if (economy.price_per_kwh > kDear && std::ranges::find(kLargeUnits, economy.currency) != kLargeUnits.end()) {
        doubts.add({"price-in-cents", "economy", "a kWh costs " + figure(economy.price_per_kwh) + ": is that in cents?",
                    "write it in the unit the other prices are in, such as \"0.28\"", "price-per-kwh"},
                   economy.place);
    }
}

/// A size that is drawn but not sold cannot stay.
void doubt_unsold(Doubts& doubts) {
    for (const Pipe& pipe : doubts.layout.pipes) {
        if (!pipe.choose) {
            continue;
        }
        const std::vector<SoldSize>& sizes = doubts.layout.sold_series[static_cast<std::size_t>(pipe.sold_series)].sizes;
        if (std::ranges::none_of(sizes, [&](const SoldSize& size) { return size.bore_m == pipe.bore_m; })) {
            doubts.add({"size-unsold", pipe.id,
                        pipe.id + " is drawn in the size " + in_quotes(pipe.size) + ", which has no price in its series: is it not sold?",
                        "write its price-per-metre=, or draw one that has a price", "size"},
                       pipe.place);
        }
    }
}

}  // namespace

void doubt_economy(Doubts& doubts) {
    doubt_hours(doubts);
    doubt_candidates(doubts);
    doubt_price(doubts);
    doubt_unsold(doubts);
}

}  // namespace ebb::layout
