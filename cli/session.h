#pragma once
// What every command begins with: the layout read and found valid, the arrangements chosen, the units settled.

#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "cli/output.h"
#include "cli/request.h"
#include "cli/views/view.h"
#include "netfiles/reader.h"

namespace ebb::cli {

/// Prints every problem as the reader shows it, then how many there were, to standard error.
void tell_problems(const std::vector<layout::Problem>& problems, const std::vector<netfiles::SourceFile>& files);

/// What a name on the command line may be: of which kind, and all there are.
struct Names {
    const char* what;  ///< "valve", "pump model"
    std::vector<std::string> known;
};

/// The names of things that have an id.
template <typename Things>
Names names_of(const char* what, const Things& things) {
    Names names{what, {}};
    for (const auto& thing : things) names.known.push_back(thing.id);
    return names;
}

/// The index of a name among those known in `file`; -1 when there is none: that has then been told, with the nearest one.
std::int32_t index_of(const std::string& name, const Names& names, const std::string& file);

/// The indices of the arrangements asked for, each once, in the order of the layout; all of them when none was named.
/// Nothing when a name is unknown: the nearest one has then been named on standard error.
std::optional<std::vector<std::int32_t>> chosen_arrangements(const layout::Layout& layout, const Request& request);

/// False, with a message, when the output would replace one of the files that were read.
bool output_is_safe(const Output& output, const netfiles::ReadResult& read);

/// The same of a second file a command writes: `option` names it on the command line; an empty `file` is none.
bool file_is_safe(std::string_view option, const std::string& file, const netfiles::ReadResult& read);

/// The units results are shown in: as asked, else as the layout says.
layout::UnitSystem units_of(const Request& request, const layout::Layout& layout);

/// The names of the files read, in the order Place::file counts them.
std::vector<std::string> file_names(const std::vector<netfiles::SourceFile>& files);

/// What every view of this request needs to know; `arrangements`: how many answers will come.
Subject subject_of(const Request& request, const netfiles::ReadResult& read, std::size_t arrangements);

}  // namespace ebb::cli
