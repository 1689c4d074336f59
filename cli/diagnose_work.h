#pragma once
// A diagnosis of readings, and everything it rests on, made in one go.

#include <memory>
#include <vector>

#include "netfiles/readings.h"
#include "solver/diagnose/diagnosis.h"

namespace ebb::cli {

struct DiagnosisMade {
    DiagnosisMade(const layout::Layout& layout, const diagnose::Readings& readings, unsigned threads);
    DiagnosisMade(const DiagnosisMade&) = delete;  // the signatures refer to the chances
    DiagnosisMade& operator=(const DiagnosisMade&) = delete;

    std::vector<double> chances;  ///< by kind of fault
    diagnose::Signatures signatures;
    std::vector<std::vector<double>> doubt;  ///< empty: the layout was to be trusted to the last digit, or has no solution
    diagnose::Diagnosis diagnosis;
};

/// `layout` and `readings` outlive what is made of them. `exact`: the layout is to be trusted to the last digit.
std::unique_ptr<DiagnosisMade> make_diagnosis(const layout::Layout& layout, const diagnose::Readings& readings, bool exact, unsigned threads,
                                              const diagnose::DiagnosisOptions& options);

}  // namespace ebb::cli
