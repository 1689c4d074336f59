#pragma once
// What `pumps` says in words and in codes: candidates, reasons, doubts, duties.

#include <string>

#include "cli/views/pumps_view.h"

namespace ebb::cli {

/// Codes of the JSON and the CSV.
const char* name_of(choose::DutyOutcome outcome);
const char* name_of(choose::Obstacle obstacle);
const char* name_of(choose::SpeedMode mode);
const char* name_of(choose::Fault fault);
const char* name_of(choose::Doubt doubt);
const char* name_of(choose::Standing standing);

class PumpsWords {
public:
    explicit PumpsWords(const PumpsScene& scene) : layout_(scene.subject.layout), speech_(scene.subject.speech), answer_(scene.answer) {}

    /// "2 x steady 8"; with how it is run: "2 x steady 8 at 86 % speed", "steady 8, its speed set in each arrangement".
    std::string put(const choose::Candidate& candidate) const;
    std::string put_and_speed(const choose::Candidate& candidate) const;
    /// "as arranged", "86 %", "71-86 %".
    std::string speed(const choose::Candidate& candidate) const;

    /// "T1 turns over in 74 min, wanted 60 min or less".
    std::string target(const settle::Target& target) const;
    /// What a target asks: "T1 turns over in 60 min", "B1 gets 12 l/min", "J1 keeps 2.0 m".
    std::string wish(const settle::Target& target) const;

    std::string reason(const choose::Reason& reason) const;

    /// What the flow of a duty is made of, and what else than a stronger pump may be the cure; empty when there is nothing to say.
    std::string made_of(const choose::Duty& duty) const;

    /// What the winners spoil in an arrangement that does not count.
    std::string spoiled(const choose::Beside& beside) const;
    std::string doubt(const choose::DoubtAt& doubt) const;
    /// Why no head meets the targets, and what takes it.
    std::string unreachable(const choose::Duty& duty) const;
    std::string bed(const choose::BedInTime& bed) const;

    std::string arrangement(std::int32_t index) const;
    std::string pump(std::int32_t index) const;
    std::string model(std::int32_t index) const;

private:
    std::string in(std::int32_t arrangement) const;
    std::string others(int count) const;
    std::string short_of(const choose::Reason& reason) const;
    static std::string at_speed(const choose::Reason& reason);

    const layout::Layout& layout_;
    const Speech& speech_;
    const choose::PumpsAnswer& answer_;
};

}  // namespace ebb::cli
