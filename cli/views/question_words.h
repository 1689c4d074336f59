#pragma once
// What the answers to questions have in common: ids of a layout by index, and vessels of one kind said in few words.

#include <cstdint>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include "cli/request.h"
#include "cli/views/json_writer.h"
#include "cli/views/question_page.h"
#include "cli/views/view.h"
#include "solver/layout/layout.h"
#include "solver/time/answer.h"

namespace ebb::cli {

/// The vessel's id; "outside" for -1.
std::string vessel_id(const layout::Layout& layout, std::int32_t vessel);

/// Ids of vessels in few words: "B1 to B6 and R1".
std::string vessels_in_words(const layout::Layout& layout, const std::vector<std::int32_t>& vessels);

/// "471 l from B1 to B6, 85 l from T1 to T4": volumes of vessels of one kind together, the largest first.
std::string volumes_in_words(const Subject& subject, const std::vector<std::pair<std::int32_t, double>>& volumes);

/// The text begins with a capital letter.
std::string capital(std::string sentence);

/// Adds a sentence, wrapped, marked and coloured by its weight; nothing for an empty one.
void say(std::string& text, const Paint& paint, Ink ink, const std::string& sentence);

/// Why a run ended before its time, in a sentence; empty when it did not.
std::string ended_badly(const time::Course& course);

/// Whether that makes the answer one without a solution, or one that was interrupted.
ExitStatus status_of_course(const time::Course& course);

/// Ids as an array under a key.
void write_ids(JsonWriter& json, std::string_view key, const layout::Layout& layout, const std::vector<std::int32_t>& vessels);

}  // namespace ebb::cli
