#pragma once
// The part of the text of `pumps` on pumps that stop.

#include <string>

#include "cli/views/page.h"
#include "cli/views/pumps_words.h"

namespace ebb::cli {

/// What each failure leaves unmet, the layout as it is and then with the winners in; "" when it was not asked.
std::string failures_text(const Subject& subject, const PumpsWords& words, const Paint& paint, const choose::PumpsAnswer& answer);

}  // namespace ebb::cli
