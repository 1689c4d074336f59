#include "cli/command_line.h"

#include <CLI/CLI.hpp>
#include <algorithm>

namespace ebb::cli {
namespace {

OptionShown option_of(const CLI::Option& option) {
    OptionShown result;
    result.positional = !option.nonpositional();
    result.says = option.get_description();
    result.value = option.get_option_text();
    if (result.positional) {
        result.names.push_back(option.get_name(true));
    } else {
        for (const std::string& name : option.get_snames()) result.names.push_back("-" + name);
        for (const std::string& name : option.get_lnames()) result.names.push_back("--" + name);
        if (result.value.empty() && option.get_type_size() != 0) result.value = option.get_type_name();
    }
    return result;
}

CommandShown command_of(const CLI::App& command) {
    CommandShown result{command.get_name(), command.get_description(), command.get_footer(), {}};
    for (const CLI::Option* option : command.get_options()) {
        if (!option->get_group().empty()) result.options.push_back(option_of(*option));  // without a group: hidden
    }
    return result;
}

}  // namespace

ProgramShown shown(const CLI::App& program) {
    ProgramShown result{command_of(program), {}};
    for (const CLI::App* command : program.get_subcommands([](const CLI::App*) { return true; })) result.commands.push_back(command_of(*command));
    return result;
}

std::vector<std::string> choices(const OptionShown& option) {
    std::vector<std::string> found;
    if (option.value.find('|') == std::string::npos) return found;
    for (std::size_t begin = 0; begin <= option.value.size();) {
        const std::size_t end = std::min(option.value.find('|', begin), option.value.size());
        found.push_back(option.value.substr(begin, end - begin));
        begin = end + 1;
    }
    return found;
}

}  // namespace ebb::cli
