#pragma once
// Sentences that more than one view says.

#include <string>
#include <string_view>
#include <vector>

#include "cli/findings.h"
#include "cli/views/speech.h"
#include "solver/layout/layout.h"
#include "solver/settle/answer.h"

namespace ebb::cli {

/// "turnover_s <= 3600": what a target wants, in the words and units of the JSON contract.
std::string wish_of(const settle::Target& target);

/// "T2 turns over in 74 min, wanted 60 min or less".
std::string sentence_of(const settle::Target& target, const Speech& speech);

/// "settles", "cycles", "spills until a pump runs dry": the state for a person.
std::string state_words(settle::State state);

/// What matters most in one line: why there is no answer, the targets missed, trouble, or that all is well.
std::string headline(const settle::Answer& answer, const std::vector<Finding>& found, const Speech& speech);

/// True when something in this answer wants attention: no settled state, a target missed, or trouble.
bool wants_attention(const settle::Answer& answer, const std::vector<Finding>& found);

/// How many targets are not met.
std::size_t targets_missed(const settle::Answer& answer);

/// "1 pump", "3 pumps".
std::string counted(std::size_t count, std::string_view one, std::string_view many);

/// "its one target", "both targets", "all 3 targets".
std::string all_of(std::size_t count, std::string_view one, std::string_view many);

/// "A, B and 4 more": at most `shown` names.
std::string listed(const std::vector<std::string>& names, std::size_t shown);

/// The same for names that hold spaces: "'all on', 'parted' and 4 more".
std::string quoted_list(std::vector<std::string> names, std::size_t shown);

/// The sentence with its full stop, capital first letter left as it is (it may be an id).
std::string with_full_stop(std::string sentence);

/// The name in `known` nearest to `wanted`, or "" when none is near enough to be meant.
std::string nearest_name(const std::string& wanted, const std::vector<std::string>& known);

}  // namespace ebb::cli
