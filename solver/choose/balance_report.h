#pragma once
// What is told of a setting that was found: every outlet and valve, the order to set them in, and why targets cannot be had.

#include <vector>

#include "solver/choose/balance.h"
#include "solver/choose/balance_search.h"
#include "solver/settle/farm.h"

namespace ebb::choose {

struct BalanceFound {
    const BalanceProblem& problem;
    const BalanceFrame& frame;
    const std::vector<settle::Answer>& before;  ///< per case, as the layout has it
    const Searched& searched;
    double head_scale_m;
};

/// Fills `answer` from `found`; the openings are rounded to a billionth of a per cent first, and everything is solved anew with those.
void report_balance(const BalanceFound& found, settle::Farm& farm, BalanceAnswer& answer);

/// Why the neediest outlet of a reported answer lacks water (BalanceAnswer::missing). Nothing when none does.
void explain_missing(const BalanceFound& found, settle::Farm& farm, const std::vector<settle::Answer>& after, BalanceAnswer& answer);

}  // namespace ebb::choose
