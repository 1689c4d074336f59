#pragma once
// The answer of `diagnose --calibrate` as text, JSON and CSV.

#include <string>
#include <vector>

#include "cli/output.h"
#include "cli/views/diagnose_words.h"
#include "cli/views/view.h"
#include "solver/diagnose/calibrate.h"

namespace ebb::cli {

struct CalibrationScene {
    const Subject& subject;
    const std::string& readings_name;
    const std::vector<std::string>& readings_files;
    const diagnose::Readings& readings;
    const diagnose::Calibration& calibration;
    const DiagnoseWords& words;
    std::string written = {};  ///< file that the fitted layout goes to; empty: none
};

std::string name_of(diagnose::Calibration::Outcome outcome);  ///< "fitted"
const char* name_of(diagnose::Coefficient what);              ///< "roughness"

/// Ids of the pipes, the valve, the pump or the filter that it is of.
std::vector<std::string> ids_of(const CalibrationScene& scene, const diagnose::FittedCoefficient& one);
/// "roughness of series pvc-pn10 (14 pipes)", "opening of VB3".
std::string coefficient_words(const CalibrationScene& scene, const diagnose::FittedCoefficient& one);
/// Why it was left as drawn; of one that was fitted "".
std::string why_not(const CalibrationScene& scene, const diagnose::FittedCoefficient& one);
std::vector<std::string> calibration_verdict(const CalibrationScene& scene);

std::string calibration_text(const CalibrationScene& scene);
void write_calibration_json(const CalibrationScene& scene, Output& output);
void write_calibration_csv(const CalibrationScene& scene, Output& output);

}  // namespace ebb::cli
