#include "cli/completions.h"

#include <string_view>

#include "netfiles/reader.h"

namespace ebb::cli {
namespace {

/// Which names of the layout an option wants; empty for one that wants none.
std::string kind_of(const OptionShown& option) {
    const std::string& name = option.names.back();
    if (name == "--arrangement" || name == "--change") return "arrangements";
    if (name == "--routine") return "routines";
    if (name == "--pump" || name == "--pump-speed") return "pumps";
    if (name == "--valve") return "valves";
    if (name == "--switch") return "switches";
    return option.value == "VESSEL" || option.value == "BED" ? "vessels" : "";
}

bool wants_file(const OptionShown& option) {
    return option.value.find("FILE") != std::string::npos || option.value == "LAYOUT" || option.value == "READINGS";
}

std::string joined(const std::vector<std::string>& words, std::string_view between) {
    std::string text;
    for (const std::string& word : words) text += (text.empty() ? "" : std::string(between)) + word;
    return text;
}

std::string command_names(const ProgramShown& program) {
    std::vector<std::string> names;
    for (const CommandShown& command : program.commands) names.push_back(command.name);
    return joined(names, " ");
}

std::string option_names(const CommandShown& command) {
    std::vector<std::string> names;
    for (const OptionShown& option : command.options) {
        if (!option.positional) names.push_back(joined(option.names, " "));
    }
    return joined(names, " ");
}

/// Every letter of `letters` with a backslash before it.
std::string escaped(std::string_view text, std::string_view letters) {
    std::string result;
    for (const char letter : text) {
        if (letters.find(letter) != std::string_view::npos) result += '\\';
        result += letter;
    }
    return result;
}

/// Inside single quotes of zsh a quote ends them, is written, and begins them again.
std::string in_zsh_quotes(const std::string& text) {
    std::string result = "'";
    for (const char letter : text) result += letter == '\'' ? std::string("'\\''") : std::string(1, letter);
    return result + "'";
}

std::string in_fish_quotes(const std::string& text) { return "'" + escaped(text, "\\'") + "'"; }

// ---------------------------------------------------------------------------------------------- bash

/// The line of a case for one option that takes a value.
std::string bash_case(const CommandShown& command, const OptionShown& option) {
    std::vector<std::string> patterns;
    for (const std::string& name : option.names) patterns.push_back("\"" + command.name + " " + name + "\"");
    std::string does = "return";
    if (const std::vector<std::string> few = choices(option); !few.empty())
        does = "_ebbwright_words " + joined(few, " ") + "; return";
    else if (const std::string kind = kind_of(option); !kind.empty())
        does = "_ebbwright_names " + kind + "; return";
    else if (wants_file(option))
        does = "_ebbwright_files ''; return";
    return "        " + joined(patterns, "|") + ") " + does + " ;;\n";
}

const char* const kBashHelpers = R"(# What bash offers while a command of ebbwright is typed. Written by the program itself.

_ebbwright_words() {
    COMPREPLY=($(compgen -W "$*" -- "${COMP_WORDS[COMP_CWORD]}"))
}

# Folders, and files that end in $1.
_ebbwright_files() {
    local file
    compopt -o filenames 2>/dev/null
    while IFS= read -r file; do
        case $file in *"$1") COMPREPLY+=("$file") ;; *) [ -d "$file" ] && COMPREPLY+=("$file") ;; esac
    done < <(compgen -f -- "${COMP_WORDS[COMP_CWORD]}")
}

# Names within the layout that stands on the line already.
_ebbwright_names() {
    local file layout= name
    for file in "${COMP_WORDS[@]:2}"; do
        case $file in *.xml) [ -z "$layout" ] && layout=$file ;; esac
    done
    [ -n "$layout" ] || return 0
    while IFS= read -r name; do
        printf -v name %q "$name"
        case $name in "${COMP_WORDS[COMP_CWORD]}"*) COMPREPLY+=("$name") ;; esac
    done < <("${COMP_WORDS[0]}" --names "$1" "$layout" 2>/dev/null)
}

)";

// ----------------------------------------------------------------------------------------------- zsh

std::string zsh_value(const OptionShown& option) {
    if (option.value.empty()) return {};
    const std::string head = ":" + escaped(option.value, ":\\[]") + ":";
    if (const std::vector<std::string> few = choices(option); !few.empty()) return head + "(" + joined(few, " ") + ")";
    if (const std::string kind = kind_of(option); !kind.empty())
        return head + " _ebbwright_names " + kind;  // the space: called with nothing put before the kind
    return head + (wants_file(option) ? "_files" : " ");
}

std::string zsh_command(const CommandShown& command) {
    std::string text = "        " + command.name + ")\n            _arguments -S";
    bool any_file = false;
    for (const OptionShown& option : command.options) {
        if (option.positional) {
            any_file = true;
            continue;
        }
        for (const std::string& name : option.names) {
            text += " \\\n                " + in_zsh_quotes("*" + name + "[" + escaped(option.says, ":\\[]") + "]" + zsh_value(option));
        }
    }
    if (any_file) text += " \\\n                '*:layout:_files -g \"*.xml\"'";
    return text + "\n            ;;\n";
}

// ---------------------------------------------------------------------------------------------- fish

std::string fish_option(const std::string& when, const OptionShown& option) {
    std::string text = "complete -c ebbwright -n " + in_fish_quotes(when);
    for (const std::string& name : option.names) text += name.starts_with("--") ? " -l " + name.substr(2) : " -s " + name.substr(1);
    if (const std::vector<std::string> few = choices(option); !few.empty())
        text += " -x -a " + in_fish_quotes(joined(few, " "));
    else if (const std::string kind = kind_of(option); !kind.empty())
        text += " -x -a " + in_fish_quotes("(__ebbwright_names " + kind + ")");
    else if (wants_file(option))
        text += " -r -F";
    else if (!option.value.empty())
        text += " -x";
    return text + " -d " + in_fish_quotes(option.says) + "\n";
}

template <typename Things>
void add_ids(const Things& things, std::string& text) {
    for (const auto& thing : things) text += thing.id + "\n";
}

template <typename Things>
void add_names(const Things& things, std::string& text) {
    for (const auto& thing : things) text += thing.name + "\n";
}

}  // namespace

std::string bash_completions(const ProgramShown& program) {
    std::string text = kBashHelpers;
    text += "_ebbwright() {\n    local word=${COMP_WORDS[COMP_CWORD]} command=${COMP_WORDS[1]}\n    COMPREPLY=()\n";
    text += "    if [ \"$COMP_CWORD\" -eq 1 ]; then\n        _ebbwright_words " + command_names(program) + " " + option_names(program.itself) +
            "\n        return\n    fi\n    case \"$command ${COMP_WORDS[COMP_CWORD - 1]}\" in\n";
    for (const CommandShown& command : program.commands) {
        for (const OptionShown& option : command.options) {
            if (!option.positional && !option.value.empty()) text += bash_case(command, option);
        }
    }
    text += "    esac\n    case $word in\n        -*)\n            case $command in\n";
    for (const CommandShown& command : program.commands)
        text += "                " + command.name + ") _ebbwright_words " + option_names(command) + " ;;\n";
    return text + "            esac\n            ;;\n        *) _ebbwright_files .xml ;;\n    esac\n}\n\ncomplete -F _ebbwright ebbwright\n";
}

std::string zsh_completions(const ProgramShown& program) {
    std::string text = "#compdef ebbwright\n# What zsh offers while a command of ebbwright is typed. Written by the program itself.\n\n";
    text += "_ebbwright_names() {\n    local -a layouts names\n    layouts=(${(M)words:#*.xml})\n    local layout=$layouts[1]\n"
            "    [[ -n $layout ]] || return 1\n"
            "    names=(${(f)\"$(_call_program names ebbwright --names $1 ${(q)${(Q)layout}})\"})\n    compadd -a names\n}\n\n";
    text += "_ebbwright() {\n    local curcontext=$curcontext state line\n    local -a commands\n    commands=(\n";
    for (const CommandShown& command : program.commands) text += "        " + in_zsh_quotes(command.name + ":" + escaped(command.says, ":\\")) + "\n";
    text += "    )\n    _arguments -C -S";
    for (const OptionShown& option : program.itself.options) {
        for (const std::string& name : option.names) text += " " + in_zsh_quotes("(- *)" + name + "[" + escaped(option.says, ":\\[]") + "]");
    }
    text += " '1:command:->command' '*::argument:->argument' && return\n    case $state in\n        command) _describe -t commands command commands; "
            "return ;;\n"
            "    esac\n    case $words[1] in\n";
    for (const CommandShown& command : program.commands) text += zsh_command(command);
    return text + "    esac\n}\n\n_ebbwright \"$@\"\n";
}

std::string fish_completions(const ProgramShown& program) {
    std::string text = "# What fish offers while a command of ebbwright is typed. Written by the program itself.\n\n"
                       "function __ebbwright_names\n    set -l layouts (string match -- '*.xml' (commandline -opc))\n"
                       "    test -n \"$layouts[1]\"; and ebbwright --names $argv[1] $layouts[1] 2>/dev/null\nend\n\ncomplete -c ebbwright -f\n";
    for (const OptionShown& option : program.itself.options) text += fish_option("__fish_use_subcommand", option);
    for (const CommandShown& command : program.commands) {
        text += "complete -c ebbwright -n __fish_use_subcommand -a " + command.name + " -d " + in_fish_quotes(command.says) + "\n";
        const std::string when = "__fish_seen_subcommand_from " + command.name;
        for (const OptionShown& option : command.options) {
            text += option.positional ? "complete -c ebbwright -n " + in_fish_quotes(when) + " -k -a '(__fish_complete_suffix .xml)'\n"
                                      : fish_option(when, option);
        }
    }
    return text;
}

std::string names_in(const std::string& kind, const std::string& layout_file) {
    const layout::Layout layout = netfiles::read_layout(layout_file).layout;
    std::string text;
    if (kind == "arrangements") add_names(layout.arrangements, text);
    if (kind == "routines") add_names(layout.routines, text);
    if (kind == "vessels") add_ids(layout.vessels, text);
    if (kind == "valves" || kind == "switches") add_ids(layout.valves, text);
    if (kind == "pumps" || kind == "switches") add_ids(layout.pumps, text);
    if (kind == "switches") add_ids(layout.standpipes, text);
    return text;
}

}  // namespace ebb::cli
