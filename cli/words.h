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

/// "T2 turns over in 74 min, wanted 60 min or less". `about`: the figure is the middle of a band.
std::string sentence_of(const settle::Target& target, const Speech& speech, bool about = false);

/// "settles", "cycles", "spills until a pump runs dry": the state for a person.
std::string state_words(settle::State state);

/// What matters most in one line: why there is no answer, the targets missed, trouble, or that all is well.
std::string headline(const settle::Answer& answer, const std::vector<Finding>& found, const Speech& speech);

/// True when something in this answer wants attention: no settled state, a target missed, or trouble.
bool wants_attention(const settle::Answer& answer, const std::vector<Finding>& found);

/// True when this target is asked for in this arrangement, can be judged by one figure, and is not met.
bool is_missed(const settle::Answer& answer, const settle::Target& target);

/// How many targets are missed, and how many are asked for.
std::size_t targets_missed(const settle::Answer& answer);
std::size_t targets_asked(const settle::Answer& answer);

/// The vessels whose water the arrangement shuts off on purpose though they have a target, each once.
std::vector<std::string> shut_off_on_purpose(const settle::Answer& answer);

/// True when the farm has pumps and none of them runs.
bool every_pump_stopped(const settle::Answer& answer);

/// The assumptions that a thing of the layout rests on; not those of pump models that no pump is of.
std::vector<layout::Assumption> assumptions_in_use(const layout::Layout& layout);

/// "1 pump", "3 pumps".
std::string counted(std::size_t count, std::string_view one, std::string_view many);

/// "its one target", "both targets", "all 3 targets".
std::string all_of(std::size_t count, std::string_view one, std::string_view many);

/// "A, B and 4 more": at most `shown` names.
std::string listed(const std::vector<std::string>& names, std::size_t shown);

/// Ids in few words: neighbours that count on become "T1 to T4"; at most `shown` such parts, then "and 3 more".
std::string in_few_words(const std::vector<std::string>& ids, std::size_t shown);

/// The same for names that hold spaces: "'all on', 'parted' and 4 more".
std::string quoted_list(std::vector<std::string> names, std::size_t shown);

/// The sentence with its full stop, capital first letter left as it is (it may be an id).
std::string with_full_stop(std::string sentence);

/// The name in `known` nearest to `wanted`, or "" when none is near enough to be meant.
std::string nearest_name(const std::string& wanted, const std::vector<std::string>& known);

}  // namespace ebb::cli
