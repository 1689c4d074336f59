#pragma once
// How sure the figures of an arrangement are: for people, in JSON, in CSV.

#include <string>

#include "cli/views/json_writer.h"
#include "cli/views/page.h"
#include "cli/views/view.h"
#include "solver/survey/uncertain.h"

namespace ebb::cli {

/// "roughness of pvc-pn16 (12 pipes)", "head of P1", "losses of feed-B1".
std::string words_of(const layout::Layout& layout, const survey::Uncertainty& one, const Speech& speech);

/// The tables of one arrangement. `unsure`: nullptr where there are no figures to be sure of. `compact`: without pipes.
std::string uncertain_section(const Subject& subject, const survey::UncertainAnswer* unsure, const Paint& paint, bool compact);

/// What was taken as not known exactly, and by how much: once for all arrangements.
std::string uncertain_basis(const Subject& subject, const survey::UncertainAnswer& unsure, const Paint& paint);

/// The key "uncertain" of an arrangement: an object, or null.
void write_uncertain(JsonWriter& json, const Subject& subject, const survey::UncertainAnswer* unsure);

/// Lines of the table of `flows --format csv`; `arrangement` is its first cell.
std::string uncertain_lines(const layout::Layout& layout, const std::string& arrangement, const survey::UncertainAnswer& unsure);

}  // namespace ebb::cli
