#pragma once
// The steps of one diagnosis, and what they hand to each other. Inside of the folder.

#include <cstddef>
#include <map>
#include <span>
#include <vector>

#include "solver/diagnose/diagnosis.h"
#include "solver/diagnose/weigh.h"

namespace ebb::diagnose {

/// Logarithm of the likelihood that a second fault must gain over either alone: one that changes next to nothing is no explanation.
inline constexpr double kWorthASecond = 2.0;

struct Investigation {
    Signatures& signatures;
    std::span<const std::vector<double>> doubt;  ///< by observable
    const DiagnosisOptions& options;
    std::vector<std::size_t> columns;  ///< observable of each reading
    Scales scales;
    std::vector<std::uint8_t> shows;                ///< per fault
    std::vector<Weight> weights;                    ///< per fault, of those that show
    std::map<std::size_t, Scales> own_scales = {};  ///< of faults that were weighed again with what the layout leaves open when they are there

    double log_weight(std::size_t fault) const;  ///< chance and evidence
    const Scales& scales_of(const Explanation& explanation) const;
};

/// Scales of the readings, with the doubt of their columns.
Scales scales_with(std::span<const Reading> readings, std::span<const std::vector<double>> doubt, std::span<const std::size_t> columns);

/// Weighs the leading single faults again with what the layout's unknowns do to the readings when they are there (own_doubt.cpp).
void weigh_with_own_doubt(Investigation& investigation, std::span<const Reading> readings, std::span<Explanation> explanations);

/// Solves and weighs every single fault (singles.cpp).
void weigh_singles(Investigation& investigation);

/// Pairs of faults that explain the readings better than what is there (pairs.cpp).
std::vector<Explanation> weigh_pairs(Investigation& investigation);

/// What would tell the groups apart (next_reading.cpp).
std::vector<NextReading> next_readings(Investigation& investigation, const Diagnosis& diagnosis);

/// A sentence's worth of why the others are not it (ruled_out.cpp).
std::vector<RuledOut> ruled_out(const Investigation& investigation, const Diagnosis& diagnosis);

}  // namespace ebb::diagnose
