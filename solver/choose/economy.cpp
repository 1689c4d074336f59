#include "solver/choose/economy.h"

#include <algorithm>
#include <cmath>

namespace ebb::choose {

namespace {

using layout::said;

std::size_t at(std::int32_t index) { return static_cast<std::size_t>(index); }

// common practice: the price of power differs by country, ten years is the life of a small pump
constexpr double kPricePerKwh = 0.30, kYears = 10.0;

double first_said(double one, double two) { return said(one) ? one : two; }

}  // namespace

double worth_of_yearly_payment(double years, double interest) {
    // by expm1 and log1p: exact for small interest too
    return interest == 0.0 ? years : -std::expm1(-years * std::log1p(interest)) / interest;
}

std::vector<std::int32_t> arrangements_that_count(const layout::Layout& layout) {
    std::vector<std::int32_t> chosen;
    for (const layout::YearlyHours& hours : layout.economy.hours)
        if (hours.hours > 0.0) chosen.push_back(hours.arrangement);
    if (chosen.empty())
        for (std::size_t a = 0; a < layout.arrangements.size(); ++a) chosen.push_back(static_cast<std::int32_t>(a));
    std::sort(chosen.begin(), chosen.end());
    return chosen;
}

Costing costing_of(const layout::Layout& layout, std::span<const std::int32_t> arrangements, const EconomySaid& said_now) {
    const layout::Economy& economy = layout.economy;
    Costing costing;
    const double price = first_said(said_now.price_per_kwh, economy.price_per_kwh), years = first_said(said_now.years, economy.years);
    costing.assumed_price = !said(price);
    costing.assumed_years = !said(years);
    costing.price_per_kwh = costing.assumed_price ? kPricePerKwh : price;
    costing.years = costing.assumed_years ? kYears : years;
    const double interest = first_said(said_now.interest, economy.interest);
    costing.interest = said(interest) ? interest : 0.0;
    costing.worth_of_a_year = worth_of_yearly_payment(costing.years, costing.interest);
    costing.hours_a_year.assign(layout.arrangements.size(), 0.0);
    costing.assumed_hours = economy.hours.empty();
    if (costing.assumed_hours) {
        for (const std::int32_t a : arrangements) costing.hours_a_year[at(a)] = kHoursOfYear / static_cast<double>(arrangements.size());
    } else {
        for (const layout::YearlyHours& hours : economy.hours)
            if (std::find(arrangements.begin(), arrangements.end(), hours.arrangement) != arrangements.end())
                costing.hours_a_year[at(hours.arrangement)] += hours.hours;
    }
    return costing;
}

double power_of(const settle::Answer& answer, bool* unknown) {
    double power = 0.0;
    for (const settle::PumpAnswer& pump : answer.pumps) {
        if (!pump.running) continue;
        if (said(pump.power_w))
            power += pump.power_w;
        else if (unknown != nullptr)
            *unknown = true;
    }
    return power;
}

}  // namespace ebb::choose
