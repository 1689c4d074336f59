#pragma once
// The answer of `pipes` as text, JSON and CSV.

#include <string>
#include <vector>

#include "cli/output.h"
#include "cli/views/view.h"
#include "solver/choose/sizing_answer.h"

namespace ebb::cli {

struct PipesScene {
    const Subject& subject;
    const choose::SizingAnswer& answer;
    bool proving = false;                 ///< the long work on the bound was asked for
    std::vector<std::string> notes = {};  ///< sentences: sizes that are not sold
};

std::string pipes_text(const PipesScene& scene);
void write_pipes_json(const PipesScene& scene, Output& output);
void write_pipes_csv(const PipesScene& scene, Output& output);

}  // namespace ebb::cli
