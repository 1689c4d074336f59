#pragma once
// Levels against time as a strip of characters, one line for each vessel: a column is a slice of time, its height the level between the
// least (empty) and the greatest (full) of the strip. With block letters where the terminal has them, else with digits: tenths of the way up.

#include <string>
#include <vector>

#include "cli/views/page.h"
#include "cli/views/speech.h"
#include "solver/layout/layout.h"
#include "solver/time/answer.h"

namespace ebb::cli {

/// What part of the course is drawn, and how.
struct StripWish {
    double begin_s = 0.0, end_s = 0.0;
    std::size_t width = 100;     ///< columns of the page
    bool block_letters = false;  ///< the terminal speaks UTF-8
};

/// The strips of every vessel whose level moves, and the names of those that stand still. Empty without a series.
std::string strip_chart(const layout::Layout& layout, const time::Course& course, const StripWish& wish, const Speech& speech, const Paint& paint);

}  // namespace ebb::cli
