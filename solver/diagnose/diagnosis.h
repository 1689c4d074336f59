#pragma once
// Which faults explain what was read: every single fault weighed at all its sizes, two at once where one does not explain it, ties told as ties, what
// is ruled out and by which reading, and what to read next.
//
// Probabilities. A hypothesis h (nothing wrong; one fault; two) has the weight chance(h) x evidence(h): the chance of the table of kinds (1 for a
// sound farm, the product of both for two faults) times the mean likelihood of the readings over its sizes (weigh.h). The mean is the penalty for a
// size that had to be found. What is told is the share of a weight in the sum over all that were considered, so it is a probability among those only.
// Faults that move none of the readings have the likelihood of the sound farm: they go with "nothing wrong, or nothing that shows".
//
// Ties. Two hypotheses whose best sizes predict the same readings, within one standard deviation of all of them together, cannot be told apart by
// these readings: they are one group, and their order within it is that of their chances alone.
//
// How many solves. A fault is first solved at its two ends; one that moves no reading there is done. Others get three sizes in between, then middles
// of segments as long as an optimist sees them in the running (weigh.h). Pairs are screened by adding up what each fault does alone; the few best are
// solved.

#include <cstddef>
#include <cstdint>
#include <functional>
#include <span>
#include <stop_token>
#include <vector>

#include "solver/diagnose/fault.h"
#include "solver/diagnose/reading.h"
#include "solver/diagnose/scales.h"
#include "solver/diagnose/signatures.h"

namespace ebb::diagnose {

/// Options of diagnose().
struct DiagnosisOptions {
    double credible = 0.9;  ///< of intervals of sizes
    bool pairs = true;
    std::size_t most_pairs = 24;  ///< solved, of those screened
    std::function<void(double)> progress = {};
    std::stop_token stop = {};
};

/// Size of a fault: where it fits best, and the credible interval.
struct SizeRange {
    double best = 1.0, low = 1.0, high = 1.0;  ///< in the unit of the kind
};

inline constexpr std::size_t kLeaders = 12;  ///< explanations that a next reading is asked to tell apart

/// A hypothesis weighed.
struct Explanation {
    std::vector<std::size_t> faults;  ///< indices into Signatures::faults(): none (nothing wrong), one, two
    std::vector<SizeRange> sizes;     ///< of each fault
    std::vector<double> u;            ///< of each fault, where it fits best
    double chance = 1.0;
    double log_evidence = -1e300;
    double log_likelihood = -1e300;  ///< where it fits best
    double chi_squared = 1e300;
    double probability = 0.0;          ///< among those considered
    std::int32_t misread = -1;         ///< the reading that would have to be a blunder
    bool fits = false;                 ///< chi-squared, without the blunder, within what one in a thousand exceeds
    std::vector<Predicted> predicted;  ///< of each reading
    std::vector<double> pulls;         ///< of each reading (Scales::pull)
    std::vector<Predicted> all;        ///< of every observable
};

/// Those that the readings cannot tell apart.
struct Tie {
    std::vector<std::size_t> explanations;  ///< indices into Diagnosis::explanations, the likelier first
    double probability = 0.0;
};

/// A fault that cannot be, and the reading that says so.
struct RuledOut {
    std::size_t fault = 0;
    double best = 1.0;         ///< the size that comes nearest
    std::int32_t reading = 0;  ///< what it leaves unexplained
    double predicted = 0.0;    ///< of it, at that size
    double pull = 0.0;
};

/// A reading that would tell the leaders apart.
struct NextReading {
    std::size_t observable = 0;  ///< index into Signatures::observables()
    Instrument by = Instrument::tape;
    double cost_s = 0.0;               ///< of a person
    double separates = 0.0;            ///< share of the doubt among the leaders that it is expected to settle, 0 to 1
    std::vector<Predicted> predicted;  ///< for each of the first kLeaders explanations; spread: one standard deviation of what its sizes leave open
};

/// What the readings say as a whole.
enum class Verdict : std::uint8_t {
    no_solution,     ///< of the sound farm, in one of the arrangements
    nothing_needed,  ///< the sound farm explains the readings, and nothing does so much better that it would be believed
    one,             ///< a single fault explains them
    two,             ///< two do
    read_again,      ///< the sound farm explains all but one reading, and no fault does so better: it was misread, or shows something new
    none_of_these,   ///< nothing considered explains them
};

/// Two readings that cannot both be right.
struct Contradiction {
    std::size_t one = 0, other = 0;  ///< readings of the same thing that disagree
};

/// What diagnose() finds: explanations by falling probability, what is ruled out, what to read next.
struct Diagnosis {
    Verdict verdict = Verdict::no_solution;
    std::vector<Explanation> explanations;  ///< by falling probability; those below one in ten thousand are left out, but for the sound farm
    std::vector<Tie> ties;                  ///< groups of them, by falling probability of the whole
    std::size_t sound = 0;                  ///< index of "nothing wrong" in explanations
    std::vector<RuledOut> ruled_out;        ///< of those that would move what is odd; the commoner first
    std::size_t silent = 0;                 ///< faults that move none of the readings
    std::vector<NextReading> next;          ///< the best first; at most five
    std::vector<Contradiction> contradictions;
    std::vector<std::size_t> impossible;  ///< readings that no hypothesis comes near
    bool pairs_tried = false, interrupted = false;
    std::size_t solves = 0;      ///< network solves of this diagnosis
    std::size_t considered = 0;  ///< single faults
};

/// What the layout's unknowns (survey/uncertainty.h) do to every observable of the sound farm: for each unknown, the change for one standard
/// deviation, 0 where that is not determined. One settled solve for each unknown.
std::vector<std::vector<double>> doubt_of(Signatures& signatures);

/// The same with a fault in the farm; empty when one solve of it takes too long for so many.
std::vector<std::vector<double>> doubt_with(Signatures& signatures, const Injected& fault);

/// `doubt` as of doubt_of, or empty when the layout is to be trusted to the last digit. Readings' observables must be among the signatures'.
Diagnosis diagnose(Signatures& signatures, std::span<const Reading> readings, std::span<const std::vector<double>> doubt,
                   const DiagnosisOptions& options = {});

}  // namespace ebb::diagnose
