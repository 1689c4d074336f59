#include "cli/views/money.h"

#include <fmt/format.h>

#include <cmath>

#include "cli/views/speech.h"

namespace ebb::cli {

std::string money(double amount, const std::string& currency) {
    if (!std::isfinite(amount)) {
        return "-";
    }
    constexpr double kWhole = 100.0;
    std::string digits = fmt::format("{:.{}f}", std::abs(amount), std::abs(amount) < kWhole ? 2 : 0);
    const std::size_t point = std::min(digits.find('.'), digits.size());
    for (std::size_t at = point; at > 3;) {
        at -= 3;
        digits.insert(at, 1, ',');
    }
    return (amount < 0.0 ? "-" : "") + digits + (currency.empty() ? "" : " " + currency);
}

std::string costing_in_words(const choose::Costing& costing, const std::string& currency) {
    const std::string of_money = currency.empty() ? std::string() : " " + currency;
    std::string text = fmt::format("Energy at {:.4g}{} per kWh over {:.4g} years", costing.price_per_kwh, of_money, costing.years);
    text += costing.interest > 0.0 ? fmt::format(", {} interest a year: a year's cost counts {:.4g} times today", Speech::share(costing.interest),
                                                 costing.worth_of_a_year)
                                   : ", without interest";
    std::string assumed;
    const auto add = [&](bool is, const char* what) {
        if (is) assumed += (assumed.empty() ? "" : ", ") + std::string(what);
    };
    add(costing.assumed_price, "the price of energy");
    add(costing.assumed_years, "the years");
    add(costing.assumed_hours, "the year shared equally among the arrangements");
    return text + (assumed.empty() ? "." : fmt::format(". Assumed, as the layout does not say: {}.", assumed));
}

}  // namespace ebb::cli
