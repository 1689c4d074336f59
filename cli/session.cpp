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

std::optional<std::vector<std::int32_t>> chosen_arrangements(const layout::Layout& layout, const Request& request) {
    std::vector<std::string> names;
    for (const layout::Arrangement& arrangement : layout.arrangements) {
        names.push_back(arrangement.name);
    }
    bool all_known = true;
    for (const std::string& wanted : request.arrangements) {
        if (std::find(names.begin(), names.end(), wanted) == names.end()) {
            const std::string near = nearest_name(wanted, names);
            const std::string advice = near.empty() ? fmt::format("it has {}", quoted_list(names, 8)) : fmt::format("did you mean '{}'?", near);
            tell(fmt::format("{} has no arrangement '{}'; {}", request.layout_file, wanted, advice));
            all_known = false;
        }
    }
    if (!all_known) {
        return std::nullopt;
    }
    std::vector<std::int32_t> chosen;
    for (std::size_t i = 0; i < names.size(); ++i) {
        if (request.arrangements.empty() ||
            std::find(request.arrangements.begin(), request.arrangements.end(), names[i]) != request.arrangements.end()) {
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

std::vector<std::string> file_names(const netfiles::ReadResult& read) {
    std::vector<std::string> names;
    for (const netfiles::SourceFile& file : read.files) {
        names.push_back(file.path());
    }
    return names;
}

}  // namespace ebb::cli
