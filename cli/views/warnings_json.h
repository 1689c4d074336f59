#pragma once
// The list of warnings of an answer, as every command's JSON has it.

#include <vector>

#include "cli/findings.h"
#include "cli/views/json_writer.h"
#include "cli/views/view.h"

namespace ebb::cli {

/// "warnings": code, about, sentence, whether it is trouble, and its place in the layout file.
void write_warnings(JsonWriter& json, const Subject& subject, const std::vector<Finding>& found);

}  // namespace ebb::cli
