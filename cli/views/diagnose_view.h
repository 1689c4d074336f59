#pragma once
// The answer of `diagnose` as text, JSON and CSV.

#include <span>
#include <string>
#include <vector>

#include "cli/output.h"
#include "cli/views/diagnose_words.h"
#include "cli/views/view.h"
#include "solver/diagnose/diagnosis.h"

namespace ebb::cli {

struct DiagnoseScene {
    const Subject& subject;
    const std::string& readings_name;
    const std::vector<std::string>& readings_files;
    const diagnose::Readings& readings;
    const diagnose::Signatures& signatures;
    const diagnose::Diagnosis& diagnosis;
    const DiagnoseWords& words;
    bool exact = false;        ///< the layout was to be trusted to the last digit
    std::size_t unknowns = 0;  ///< of the layout, where not
};

std::string name_of(diagnose::Verdict verdict);  ///< "nothing-needed"

/// An explanation with its size, "if ... was misread" where it needs that.
std::string explanation_sentence(const DiagnoseScene& scene, const diagnose::Explanation& explanation);

/// Readings that an explanation leaves further away than twice their deviation, that which it takes for misread left out.
std::vector<std::size_t> badly_explained(const diagnose::Explanation& explanation);

/// What was found, in a sentence or two.
std::vector<std::string> diagnose_verdict(const DiagnoseScene& scene);
/// What is wrong with the readings themselves: contradictions, what nothing comes near, too few.
std::vector<std::string> readings_doubts(const DiagnoseScene& scene);

std::string diagnose_text(const DiagnoseScene& scene);
void write_diagnose_json(const DiagnoseScene& scene, Output& output);
void write_diagnose_csv(const DiagnoseScene& scene, Output& output);

}  // namespace ebb::cli
