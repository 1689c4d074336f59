#pragma once
// What running costs: hours a year, the price of energy, and what years of it are worth today. Shared by `pumps` and `pipes`.

#include <cstdint>
#include <span>
#include <vector>

#include "solver/layout/layout.h"
#include "solver/settle/answer.h"

namespace ebb::choose {

inline constexpr double kHoursOfYear = 8760.0;

/// Said on the command line instead of in the layout; NaN: the layout's.
struct EconomySaid {
    double price_per_kwh = layout::kNotSaid;
    double years = layout::kNotSaid;
    double interest = layout::kNotSaid;
};

/// Everything that turns power into money. Where neither layout nor command line says, a default stands and `assumed_*` is true.
struct Costing {
    double price_per_kwh = 0.0;
    double years = 0.0;
    double interest = 0.0;
    double worth_of_a_year = 0.0;      ///< present worth of 1 paid at the end of each of the years
    std::vector<double> hours_a_year;  ///< per arrangement of the layout; 0 for those not chosen
    bool assumed_price = false, assumed_years = false, assumed_hours = false;
};

/// Present worth of one unit of money paid at the end of each of `years` years, at `interest` a year (share):
/// (1 - (1 + i)^-n)/i, n without interest. The uniform-series present-worth factor of engineering economy.
double worth_of_yearly_payment(double years, double interest);

/// Which arrangements count when none are named: those with hours where the layout gives hours, else all.
std::vector<std::int32_t> arrangements_that_count(const layout::Layout& layout);

/// The costing of these arrangements. Hours: of the layout, else the year shared equally among them.
Costing costing_of(const layout::Layout& layout, std::span<const std::int32_t> arrangements, const EconomySaid& said = {});

/// Electrical power of all pumps of an answer, W; `unknown` is set when a running pump's power is not known (it then counts as nothing).
double power_of(const settle::Answer& answer, bool* unknown = nullptr);

}  // namespace ebb::choose
