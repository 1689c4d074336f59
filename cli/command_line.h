#pragma once
// The command line as a table: what the manual pages and the completions are made of. It is read from the very tree that parses, so that neither can
// say anything else than --help.

#include <string>
#include <vector>

namespace CLI {
class App;
}

namespace ebb::cli {

struct OptionShown {
    std::vector<std::string> names;  ///< "-o", "--output"; the name alone of a positional
    std::string value;               ///< "FILE", "text|json|csv"; empty for a flag
    std::string says;
    bool positional = false;
};

struct CommandShown {
    std::string name, says, footer;
    std::vector<OptionShown> options;  ///< positionals among them
};

struct ProgramShown {
    CommandShown itself;
    std::vector<CommandShown> commands;
};

ProgramShown shown(const CLI::App& program);

/// The values of an option that has a few: those between bars ("si|us"); none of any other.
std::vector<std::string> choices(const OptionShown& option);

}  // namespace ebb::cli
