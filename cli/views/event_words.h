#pragma once
// Each event of a course as a sentence in plain words.

#include <span>
#include <string>
#include <vector>

#include "cli/views/speech.h"
#include "solver/layout/layout.h"
#include "solver/time/answer.h"

namespace ebb::cli {

/// "VB1 opens: timer", "B1 is full to its lip": without full stop.
std::string sentence_of(const layout::Layout& layout, const time::Event& event);

/// Events of one moment that say the same of several things: "VB1 and VB2 open: timer". At least one event.
std::string sentence_of(const layout::Layout& layout, const std::vector<const time::Event*>& alike);

/// True when the two can be said in one sentence, if they are of one moment: the same happens for the same reason.
bool alike(const time::Event& one, const time::Event& other);

/// True when it is wrong by itself: water over a rim, an intake that draws air, a draw that finds nothing.
bool is_trouble(time::Happening what);

/// "0:11:40", "day 3, 02:05:00": a moment counted from the start, to the second.
std::string moment(double t_s);

}  // namespace ebb::cli
