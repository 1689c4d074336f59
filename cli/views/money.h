#pragma once
// Money as a person says it.

#include <string>

#include "solver/choose/economy.h"
#include "solver/layout/layout.h"

namespace ebb::cli {

/// "1,240 EUR", "12.30 EUR": three digits or whole units, whichever is more; "-" when it is not known. Without a currency
/// the number stands alone.
std::string money(double amount, const std::string& currency);

/// What the costs rest on, in one or two sentences: the price of energy, the years, the interest, and which of them were assumed.
std::string costing_in_words(const choose::Costing& costing, const std::string& currency);

}  // namespace ebb::cli
