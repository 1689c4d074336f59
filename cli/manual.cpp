#include "cli/manual.h"

#include <algorithm>
#include <cctype>

#include "solver/version.h"

namespace ebb::cli {
namespace {

/// What stands for a letter that roff would take for something else; empty: the letter itself.
std::string_view stands_for(char letter) {
    switch (letter) {
        case '\\': return "\\e";
        case '-': return "\\-";
        case '\'': return "\\(aq";
        case '`': return "\\(ga";
        case '"': return "\\(dq";
        case '^': return "\\(ha";
        case '~': return "\\(ti";
        default: return {};
    }
}

/// No date is written: a page made twice from the same sources is the same page.
std::string heading(const std::string& name) {
    std::string capitals;
    for (const char letter : name) capitals += static_cast<char>(std::toupper(static_cast<unsigned char>(letter)));
    return ".TH \"" + roff(capitals) + "\" \"1\" \"\" \"ebbwright " + kVersion + "\" \"Ebbwright\"\n";
}

std::string bold(std::string_view text) { return "\\fB" + roff(text) + "\\fR"; }
std::string slanted(std::string_view text) { return "\\fI" + roff(text) + "\\fR"; }

std::string option_text(const OptionShown& option) {
    std::string names;
    for (const std::string& name : option.names) names += (names.empty() ? "" : ", ") + bold(name);
    if (option.positional)
        names = slanted(option.value.empty() ? option.names.front() : option.value);
    else if (!option.value.empty())
        names += " " + slanted(option.value);
    return ".TP\n" + names + "\n" + roff(option.says) + "\n";
}

std::string options_section(const CommandShown& command) {
    std::string arguments, options;
    for (const OptionShown& option : command.options) (option.positional ? arguments : options) += option_text(option);
    return (arguments.empty() ? "" : ".SH ARGUMENTS\n" + arguments) + ".SH OPTIONS\n" + options;
}

/// The page's own line breaks; each paragraph on its own.
std::string paragraphs(const std::string& text) {
    std::string result;
    for (std::size_t begin = 0; begin < text.size();) {
        const std::size_t end = std::min(text.find('\n', begin), text.size());
        if (end > begin) result += ".PP\n" + roff(std::string_view(text).substr(begin, end - begin)) + "\n";
        begin = end + 1;
    }
    return result;
}

}  // namespace

std::string roff(std::string_view text) {
    std::string result;
    bool line_begins = true;
    for (const char letter : text) {
        if (line_begins && (letter == '.' || letter == '\'')) result += "\\&";
        const std::string_view other = stands_for(letter);
        if (other.empty())
            result += letter;
        else
            result += other;
        line_begins = letter == '\n';
    }
    return result;
}

std::string program_page(const ProgramShown& program) {
    const std::string name = program.itself.name;
    std::string text = heading(name) + ".SH NAME\n" + roff(name) + " \\- flows, levels and pump duty of a fish\\-and\\-plant farm\n" +
                       ".SH SYNOPSIS\n" + bold(name) + " " + slanted("COMMAND") + " [" + slanted("OPTIONS") + "] [" + slanted("LAYOUT") + "]\n" +
                       ".SH DESCRIPTION\n" + roff(program.itself.says) + "\n.SH COMMANDS\n";
    for (const CommandShown& command : program.commands) text += ".TP\n" + bold(command.name) + "\n" + roff(command.says) + "\n";
    text += options_section(program.itself) + ".SH NOTES" + "\n" + paragraphs(program.itself.footer) + ".SH SEE ALSO\n";
    for (std::size_t i = 0; i < program.commands.size(); ++i) {
        text += bold(name + "-" + program.commands[i].name) + "(1)" + (i + 1 < program.commands.size() ? ",\n" : "\n");
    }
    return text;
}

std::string command_page(const ProgramShown& program, const CommandShown& command) {
    const std::string name = program.itself.name;
    std::string text = heading(name + "-" + command.name) + ".SH NAME\n" + roff(name + "-" + command.name) + " \\- " + roff(command.says) +
                       "\n.SH SYNOPSIS\n" + bold(name + " " + command.name) + " [" + slanted("OPTIONS") + "]";
    for (const OptionShown& option : command.options) {
        if (option.positional) text += " " + slanted(option.value.empty() ? option.names.front() : option.value);
    }
    return text + "\n.SH DESCRIPTION\n" + roff(command.says) + ".\n" + options_section(command) + ".SH EXIT STATUS\n" + paragraphs(command.footer) +
           ".SH SEE ALSO\n" + bold(name) + "(1)\n";
}

}  // namespace ebb::cli
