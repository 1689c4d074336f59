#pragma once
// `--power-cut` for a person.

#include <string>
#include <vector>

#include "cli/views/page.h"
#include "cli/views/view.h"
#include "solver/time/power_cut.h"

namespace ebb::cli {

/// Every answer in sentences and a table; of more than two, a line for each and the whole of the worst.
std::string cuts_text(const Subject& subject, const Paint& paint, const std::vector<time::PowerCutAnswer>& answers);

/// The parts of one answer by themselves, for other pages than a plain text.
struct CutCard {
    std::vector<Said> sentences;
    Table table;
    std::vector<std::string> cautions;
};
CutCard cut_card(const Subject& subject, const time::PowerCutAnswer& answer);

}  // namespace ebb::cli
