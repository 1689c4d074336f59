#pragma once
// Sentences of `pipes` that more than one view says.

#include <string>
#include <vector>

#include "cli/findings.h"
#include "cli/views/pipes_view.h"

namespace ebb::cli {

class PipesWords {
public:
    explicit PipesWords(const PipesScene& scene)
        : layout_(scene.subject.layout), speech_(scene.subject.speech), answer_(scene.answer), proving_(scene.proving) {}

    const std::string& arrangement(std::int32_t index) const;
    const std::string& size_name(const choose::Choice& choice, std::size_t option) const;
    std::string money(double amount) const;

    /// "N6 has a pressure of 30.4 m, wanted 30 m or more, in 'day'"; "home is 82 % full in 'day', not more than 75 % is wanted".
    std::string judgement(const choose::Judgement& one) const;
    std::string in_arrangement(std::int32_t index) const;  ///< " in 'day'"; nothing where only one counts

    /// "19,980 less than as drawn".
    std::string against_drawn() const;

    /// What is known of cheaper designs, in a sentence.
    std::string bound() const;

    /// Why no design is allowed, and what would be needed: one sentence each, the first the one that matters.
    std::vector<std::string> infeasible() const;

    /// Of beds that are to fill or drain in time: late ones are trouble, and come first; that nobody looked is a doubt.
    std::vector<Finding> times() const;

    /// What is wrong with the chosen design though it meets every target: water below its least depth, a bare intake, drains that are too narrow.
    std::vector<Finding> findings() const;

    std::string bed(const choose::BedInTime& bed) const;  ///< "B1 fills in 26 min, wanted 15 min or less, in the routine 'tide'"

    std::string effort() const;  ///< "all 216 designs were looked at"; "69,248 of 1.5e9 designs were tried"

private:
    std::vector<const choose::Judgement*> missed(const choose::Verdict& verdict, bool limits) const;
    std::string needed(const choose::Judgement& one) const;

    const layout::Layout& layout_;
    const Speech& speech_;
    const choose::SizingAnswer& answer_;
    bool proving_;
};

}  // namespace ebb::cli
