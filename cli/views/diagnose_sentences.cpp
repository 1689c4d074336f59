// What a diagnosis comes to, in sentences.

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "cli/views/diagnose_view.h"
#include "cli/views/question_words.h"
#include "cli/words.h"

namespace ebb::cli {

namespace {

using diagnose::Diagnosis;
using diagnose::Explanation;
using diagnose::Tie;
using diagnose::Verdict;

std::size_t at(std::int32_t index) { return static_cast<std::size_t>(index); }

constexpr double kFar = 2.0;      ///< standard deviations
constexpr double kSettled = 0.9;  ///< probability from which nothing more need be asked
constexpr std::size_t kFew = 3;

std::string all_readings(const DiagnoseScene& scene) {
    const std::size_t count = scene.readings.readings.size();
    return count == 1 ? "the one reading" : count == 2 ? "both readings" : fmt::format("all {} readings", count);
}

/// "the depth of B3 (348 mm)".
std::string reading_said(const DiagnoseScene& scene, std::size_t index) {
    const diagnose::Reading& reading = scene.readings.readings[index];
    return fmt::format("{} ({})", scene.words.observable(reading.what), scene.words.value(reading.what, reading.value));
}

/// "says 120 mm, read 150 mm", led by what it is of.
std::string left_unexplained(const DiagnoseScene& scene, const Explanation& explanation, std::size_t index) {
    const diagnose::Reading& reading = scene.readings.readings[index];
    const diagnose::Predicted& predicted = explanation.predicted[index];
    return fmt::format("{} should be {}, was read as {}", scene.words.observable(reading.what),
                       scene.words.value(reading.what, predicted.value, predicted.spread), scene.words.value(reading.what, reading.value));
}

std::string one_or_two(const DiagnoseScene& scene, const Tie& leaders) {
    const Diagnosis& diagnosis = scene.diagnosis;
    const std::string sure = leaders.probability >= kSettled ? "" : "most likely: ";
    const std::size_t count = leaders.explanations.size();
    const std::int32_t misread = diagnosis.explanations[leaders.explanations.front()].misread;
    if (count > kFew)
        return fmt::format("{}one of {} things explains {}{}, and these readings cannot tell which", sure, count, all_readings(scene),
                           misread < 0 ? std::string() : fmt::format(", if {} was misread", reading_said(scene, at(misread))));
    std::string text;
    for (std::size_t k = 0; k < count; ++k)
        text += fmt::format("{}{}",
                            k == 0      ? ""
                            : count > 2 ? "; or "
                                        : ", or ",
                            explanation_sentence(scene, diagnosis.explanations[leaders.explanations[k]]));
    const bool two = diagnosis.verdict == Verdict::two;
    if (count == 1) return fmt::format("{}{}{} explain{} {}", sure, two ? "two things at once: " : "", text, two ? "" : "s", all_readings(scene));
    return fmt::format("{}{}{}: either explains {}, and these readings cannot tell which", sure, two ? "two things at once: " : "", text,
                       all_readings(scene));
}

std::string none_of_these(const DiagnoseScene& scene) {
    const Diagnosis& diagnosis = scene.diagnosis;
    std::string text = fmt::format("None of the {} single faults considered{} explains these readings", diagnosis.considered,
                                   diagnosis.pairs_tried ? ", and no two of them at once," : "");
    const Explanation& best = diagnosis.explanations.front();
    text += fmt::format("; nearest comes: {}", explanation_sentence(scene, best));
    const std::vector<std::size_t> bad = badly_explained(best);
    if (!bad.empty())
        text +=
            fmt::format(". It leaves {}: {}", bad.size() == 1 ? "one unexplained" : "some unexplained", left_unexplained(scene, best, bad.front()));
    return text;
}

std::string read_again(const DiagnoseScene& scene) {
    const Explanation& sound = scene.diagnosis.explanations[scene.diagnosis.sound];
    const std::size_t index = at(sound.misread);
    const std::string again =
        fmt::format("Read it again: {}. If it comes again as it was, put both readings in the file", left_unexplained(scene, sound, index));
    if (scene.readings.readings.size() == 1)
        return "One odd reading may be a slip of the tape or the watch before anything in the farm is wrong. " + again;
    return fmt::format("All readings but one are those of a sound farm, so that one is rather a slip than a fault. {}", again);
}

}  // namespace

std::string name_of(Verdict verdict) {
    switch (verdict) {
        case Verdict::no_solution: return "no-solution";
        case Verdict::nothing_needed: return "nothing-needed";
        case Verdict::one: return "one-fault";
        case Verdict::two: return "two-faults";
        case Verdict::read_again: return "read-again";
        case Verdict::none_of_these: return "none-of-these";
    }
    return {};
}

std::string explanation_sentence(const DiagnoseScene& scene, const Explanation& explanation) {
    std::string text = scene.words.explanation(explanation, scene.signatures.faults());
    if (explanation.misread >= 0) text += fmt::format(" (if {} was misread)", reading_said(scene, at(explanation.misread)));
    return text;
}

std::vector<std::size_t> badly_explained(const Explanation& explanation) {
    std::vector<std::size_t> bad;
    for (std::size_t i = 0; i < explanation.pulls.size(); ++i)
        if (std::abs(explanation.pulls[i]) > kFar && static_cast<std::int32_t>(i) != explanation.misread) bad.push_back(i);
    return bad;
}

std::vector<std::string> diagnose_verdict(const DiagnoseScene& scene) {
    const Diagnosis& diagnosis = scene.diagnosis;
    switch (diagnosis.verdict) {
        case Verdict::no_solution:
            return {"The farm as drawn has no solution in an arrangement that was read, so there is nothing to compare the readings with; 'ebbwright "
                    "flows' says why"};
        case Verdict::nothing_needed: {
            std::vector<std::string> text{
                fmt::format("Nothing wrong is needed to explain {}", scene.readings.readings.size() == 1 ? "this reading" : "these readings")};
            if (diagnosis.silent > 0)
                text.push_back(fmt::format("{} of the {} faults considered would not show in them, so they are not ruled out", diagnosis.silent,
                                           diagnosis.considered));
            return text;
        }
        case Verdict::read_again: return {read_again(scene)};
        case Verdict::one:
        case Verdict::two: {
            std::vector<std::string> text{capital(one_or_two(scene, diagnosis.ties.front()))};
            const Explanation& first = diagnosis.explanations[diagnosis.ties.front().explanations.front()];
            for (const std::size_t i : badly_explained(first)) text.push_back("Not well: " + left_unexplained(scene, first, i));
            return text;
        }
        case Verdict::none_of_these: return {none_of_these(scene)};
    }
    return {};
}

std::vector<std::string> readings_doubts(const DiagnoseScene& scene) {
    const Diagnosis& diagnosis = scene.diagnosis;
    std::vector<std::string> text;
    for (const diagnose::Contradiction& pair : diagnosis.contradictions) {
        const diagnose::Reading &one = scene.readings.readings[pair.one], &other = scene.readings.readings[pair.other];
        text.push_back(fmt::format(
            "The readings contradict each other: {} was read as {} (line {}) and as {} (line {}). Read it once more and keep what is right",
            scene.words.observable(one.what), scene.words.value(one.what, one.value), one.place.line, scene.words.value(other.what, other.value),
            other.place.line));
    }
    for (const std::size_t i : diagnosis.impossible)
        text.push_back(fmt::format(
            "Nothing considered comes near one reading, whatever its size: {}. Is it the right thing, the right unit, the right arrangement?",
            reading_said(scene, i)));
    const bool found = diagnosis.verdict == Verdict::one || diagnosis.verdict == Verdict::two;
    if (!found) return text;
    const auto many = std::count_if(diagnosis.ties.begin(), diagnosis.ties.end(), [](const Tie& tie) { return tie.probability > 0.02; });
    const Tie& leaders = diagnosis.ties.front();
    if (leaders.probability < kSettled || leaders.explanations.size() > kFew)
        text.push_back(fmt::format(
            "{} not enough to settle it: {} remain that predict different things{}",
            scene.readings.readings.size() == 1 ? "One reading is" : "The readings are",
            counted(static_cast<std::size_t>(std::max<std::ptrdiff_t>(many, 1)), "explanation or group of them", "explanations or groups of them"),
            diagnosis.next.empty() ? "" : "; what to read next is below"));
    return text;
}

}  // namespace ebb::cli
