#pragma once
// The answer of `survey` as text, JSON and CSV.

#include <array>
#include <cstdint>
#include <string>
#include <vector>

#include "cli/output.h"
#include "cli/views/page.h"
#include "cli/views/view.h"
#include "solver/survey/again.h"
#include "solver/survey/counter.h"
#include "solver/survey/statistics.h"
#include "solver/survey/survey.h"

namespace ebb::cli {

struct SurveyScene {
    const Subject& subject;
    std::string arrangement;  ///< its name
    const survey::Question& question;
    const survey::Combinations& combinations;
    const std::vector<survey::TargetColumn>& targets;
    const survey::Counter& counter;
    const survey::Statistics& statistics;
    const survey::Again& again;
    bool first_taken = false;  ///< no arrangement was named, and the layout has more than this one

    std::uint64_t asked() const { return combinations.count(); }
    bool complete() const { return statistics.rows == asked(); }
};

/// The alarms of a combination as the contract names them: codes of `flows` where it has one.
struct AlarmName {
    survey::Alarm bit;
    const char* code;
};
inline constexpr std::array<AlarmName, 7> kAlarmNames{{{survey::kIntakeBare, "intake-bare"},
                                                       {survey::kBeyondCurve, "beyond-curve"},
                                                       {survey::kAgainstShut, "against-shut"},
                                                       {survey::kBelowLeast, "below-least-depth"},
                                                       {survey::kSpills, "spills"},
                                                       {survey::kBelowVapour, "below-vapour"},
                                                       {survey::kUnderVacuum, "under-vacuum"}}};
const char* code_of(survey::Alarm bit);

/// The id of the thing a switch moves.
const std::string& switch_id(const layout::Layout& layout, const survey::Switch& one);

/// The id of the vessel or tee a target is about.
const std::string& target_about(const layout::Layout& layout, const survey::TargetColumn& target);

/// The ids of what is off, in the order of the switches.
std::vector<std::string> things_off(const SurveyScene& scene, std::uint64_t combination);

/// "all on", "VB1 and VB3 off", "only VB2 on", "all off"; at most `shown` ids.
std::string combination_words(const SurveyScene& scene, std::uint64_t combination, std::size_t shown = 6);

/// "13 of 64", and "none" and "all 64" where that is so.
std::string of_all(std::uint64_t times, std::uint64_t all);

/// "1.6 %", "12 %", "under 0.1 %"; "0 %" only when it is none.
std::string share_words(std::uint64_t times, std::uint64_t all);

/// 1048576 as "1,048,576".
std::string grouped(std::uint64_t number);

/// The target as a row of a single answer, for the sentences of words.h.
settle::Target target_of(const SurveyScene& scene, std::size_t target, double got);

/// What is wrong, worst first, and what is fine; whole sentences without marks.
std::vector<std::string> survey_trouble(const SurveyScene& scene);
std::vector<std::string> survey_doubts(const SurveyScene& scene);
std::string survey_calm(const SurveyScene& scene);
std::vector<std::string> survey_notes(const SurveyScene& scene);  ///< how the figures are to be read
std::string again_sentence(const SurveyScene& scene);             ///< what the single solves of the named combinations say

/// Whether a vessel's inflow is worth a row: water is meant to come in in some combination, and it is no sump.
bool has_inflow_row(const SurveyScene& scene, std::size_t vessel);
/// The values are the same in every combination, to a share that can be seen.
bool same_everywhere(const survey::Range& range, double seen = 0.005);

std::string survey_text(const SurveyScene& scene);
std::string survey_maps(const SurveyScene& scene, const Paint& paint);  ///< the two heat maps
void write_survey_json(const SurveyScene& scene, Output& output);

}  // namespace ebb::cli
