// What can be read and how common each fault is, found out; then the diagnosis.

#include "cli/diagnose_work.h"

#include <algorithm>

#include "cli/messages.h"
#include "solver/diagnose/fault.h"

namespace ebb::cli {
namespace {

/// What is kept of every fault at every size takes this much at most; beyond, no further reading is looked for.
constexpr double kMostKept = 5e8;  // bytes
constexpr double kSizesKept = 6.0;

/// Everything a person can read, and what was read besides; in a very large layout only what was read.
std::vector<diagnose::Observable> observables_of(const layout::Layout& layout, const diagnose::Readings& readings) {
    std::vector<layout::Conditions> conditions;
    for (const diagnose::Visit& visit : readings.visits) conditions.push_back(layout::conditions_of(layout, visit.arrangement));
    std::vector<diagnose::Observable> all = diagnose::observables_of(layout, readings.visits.size(), readings.gauges);
    const double kept = static_cast<double>(diagnose::faults_of(layout, conditions).size()) * static_cast<double>(all.size()) * kSizesKept *
                        sizeof(diagnose::Predicted);
    if (kept > kMostKept) {
        tell("the layout is very large: what to read next is not looked for");
        all.clear();
    }
    for (const diagnose::Reading& reading : readings.readings)
        if (std::find(all.begin(), all.end(), reading.what) == all.end()) all.push_back(reading.what);
    return all;
}

/// Chances by kind, those of the file in place of the table's.
std::vector<double> chances_of(const diagnose::Readings& readings) {
    std::vector<double> chances;
    for (const diagnose::FaultKindData& kind : diagnose::fault_kinds()) {
        const auto own = std::find_if(readings.chances.begin(), readings.chances.end(), [&](const auto& one) { return one.kind == kind.name; });
        chances.push_back(own == readings.chances.end() ? kind.chance : own->chance);
    }
    return chances;
}

}  // namespace

DiagnosisMade::DiagnosisMade(const layout::Layout& layout, const diagnose::Readings& readings, unsigned threads)
    : chances(chances_of(readings)), signatures(layout, readings.visits, observables_of(layout, readings), chances, threads) {}

std::unique_ptr<DiagnosisMade> make_diagnosis(const layout::Layout& layout, const diagnose::Readings& readings, bool exact, unsigned threads,
                                              const diagnose::DiagnosisOptions& options) {
    auto made = std::make_unique<DiagnosisMade>(layout, readings, threads);
    if (!exact && made->signatures.sound_is_solved()) made->doubt = diagnose::doubt_of(made->signatures);
    made->diagnosis = diagnose::diagnose(made->signatures, readings.readings, made->doubt, options);
    return made;
}

}  // namespace ebb::cli
