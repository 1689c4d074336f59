#pragma once
// What the diagnosis speaks of in a person's words: faults with their sizes, readings, and what a person does about a fault.

#include <span>
#include <string>
#include <vector>

#include "cli/views/view.h"
#include "solver/diagnose/diagnosis.h"

namespace ebb::cli {

/// How to make sure of a kind of fault with the least effort, and what is usually done about it (common practice).
struct Remedy {
    const char* proof;
    const char* usual;
};
Remedy remedy_of(diagnose::FaultKind kind);

class DiagnoseWords {
public:
    DiagnoseWords(const Subject& subject, std::span<const diagnose::Visit> visits, std::span<const layout::Conditions> conditions)
        : layout_(subject.layout), speech_(subject.speech), visits_(visits), conditions_(conditions) {}

    /// Its label in the layout.
    const std::string& id(const layout::Ref& ref) const;

    /// "standpipe OB3 blocked to 3-6 % of its opening"; without a size where `size` is null.
    std::string fault(const diagnose::Fault& fault, const diagnose::SizeRange* size) const;
    /// All of its faults, joined by "and"; of none: "nothing wrong".
    std::string explanation(const diagnose::Explanation& explanation, std::span<const diagnose::Fault> faults) const;

    /// "the level of B3", in which arrangement where there are several.
    std::string observable(const diagnose::Observable& what) const;
    /// "tape in B3", "bucket at feed-B3": what is done to read it.
    std::string way_to_read(const diagnose::Observable& what) const;
    std::string value(const diagnose::Observable& what, double value, double spread = 0.0) const;
    std::string plus_minus(const diagnose::Reading& reading) const;  ///< of a glance ""

    const std::string& arrangement(std::int32_t visit) const {
        return layout_.arrangements[static_cast<std::size_t>(visits_[static_cast<std::size_t>(visit)].arrangement)].name;
    }
    std::size_t visits() const { return visits_.size(); }

private:
    std::string blocked(const std::string& what, const std::string& of_its, const diagnose::SizeRange* size) const;
    std::string at_pump(const diagnose::Fault& fault, const diagnose::SizeRange* size) const;
    std::string at_overflow(const diagnose::Fault& fault, const diagnose::SizeRange* size) const;
    std::string at_water(const diagnose::Fault& fault, const diagnose::SizeRange* size) const;
    std::string valve_elsewhere(const diagnose::Fault& fault, const diagnose::SizeRange* size) const;
    std::string swapped_ends(const diagnose::Fault& fault) const;

    const layout::Layout& layout_;
    const Speech& speech_;
    std::span<const diagnose::Visit> visits_;
    std::span<const layout::Conditions> conditions_;
};

}  // namespace ebb::cli
