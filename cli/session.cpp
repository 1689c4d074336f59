#include "cli/session.h"

#include <fmt/format.h>

#include <algorithm>
#include <filesystem>
#include <system_error>

#include "cli/messages.h"
#include "cli/words.h"

namespace ebb::cli {

void tell_problems(const std::vector<layout::Problem>& problems, const std::vector<netfiles::SourceFile>& files) {
    constexpr std::size_t kShown = 100;  // whoever has more has one mistake a hundred times
    std::string text;
    for (std::size_t i = 0; i < std::min(problems.size(), kShown); ++i) {
        text += netfiles::show(problems[i], files);
    }
    tell_plainly(text);
    if (problems.size() > kShown) {
        tell(fmt::format("{} of {} mistakes are shown", kShown, problems.size()));
    } else {
        tell(counted(problems.size(), "mistake", "mistakes") + " to put right");
    }
}

std::int32_t index_of(const std::string& name, const Names& names, const std::string& file) {
    const auto found = std::find(names.known.begin(), names.known.end(), name);
    if (found != names.known.end()) {
        return static_cast<std::int32_t>(found - names.known.begin());
    }
    const std::string near = nearest_name(name, names.known);
    const std::string advice = !near.empty()         ? fmt::format("did you mean '{}'?", near)
                               : names.known.empty() ? "it has none"
                                                     : fmt::format("it has {}", quoted_list(names.known, 8));
    tell(fmt::format("{} has no {} '{}'; {}", file, names.what, name, advice));
    return -1;
}

std::optional<std::vector<std::int32_t>> chosen_arrangements(const layout::Layout& layout, const Request& request) {
    Names names{"arrangement", {}};
    for (const layout::Arrangement& arrangement : layout.arrangements) {
        names.known.push_back(arrangement.name);
    }
    bool all_known = true;
    for (const std::string& wanted : request.arrangements) {
        all_known = index_of(wanted, names, request.layout_file) >= 0 && all_known;
    }
    if (!all_known) {
        return std::nullopt;
    }
    std::vector<std::int32_t> chosen;
    for (std::size_t i = 0; i < names.known.size(); ++i) {
        if (request.arrangements.empty() ||
            std::find(request.arrangements.begin(), request.arrangements.end(), names.known[i]) != request.arrangements.end()) {
            chosen.push_back(static_cast<std::int32_t>(i));
        }
    }
    return chosen;
}

bool output_is_safe(const Output& output, const netfiles::ReadResult& read) {
    for (const netfiles::SourceFile& file : read.files) {
        if (output.overwrites(file.path())) {
            tell(fmt::format("--output would replace '{}', which was read; name another file", file.path()));
            return false;
        }
    }
    return true;
}

bool file_is_safe(std::string_view option, const std::string& file, const netfiles::ReadResult& read) {
    for (const netfiles::SourceFile& source : read.files) {
        std::error_code ignored;
        if (!file.empty() && std::filesystem::equivalent(file, source.path(), ignored)) {
            tell(fmt::format("{} would replace '{}', which was read; name another file", option, source.path()));
            return false;
        }
    }
    return true;
}

layout::UnitSystem units_of(const Request& request, const layout::Layout& layout) { return request.units.value_or(layout.units); }

std::vector<std::string> file_names(const std::vector<netfiles::SourceFile>& files) {
    std::vector<std::string> names;
    for (const netfiles::SourceFile& file : files) {
        names.push_back(file.path());
    }
    return names;
}

Subject subject_of(const Request& request, const netfiles::ReadResult& read, std::size_t arrangements) {
    return {.layout = read.layout,
            .files = file_names(read.files),
            .speech = Speech(units_of(request, read.layout)),
            .colour = request.colour,
            .arrangements = arrangements,
            .everything = request.everything,
            .width = request.width,
            .block_letters = request.block_letters};
}

}  // namespace ebb::cli
