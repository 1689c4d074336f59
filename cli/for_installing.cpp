#include "cli/for_installing.h"

#include <string_view>

#include "cli/build_information.h"
#include "cli/command_line.h"
#include "cli/completions.h"
#include "cli/manual.h"
#include "cli/output.h"
#include "solver/survey/lane_solver.h"
#include "solver/version.h"

namespace ebb::cli {
namespace {

void write_whole(const std::string& file, const std::string& text) {
    Output output(file);
    output.write(text);
    output.finish();
}

void write_manual(const ProgramShown& program, const std::string& folder) {
    write_whole(folder + "/ebbwright.1", program_page(program));
    for (const CommandShown& command : program.commands) write_whole(folder + "/ebbwright-" + command.name + ".1", command_page(program, command));
}

void write_completions(const ProgramShown& program, const std::string& folder) {
    write_whole(folder + "/ebbwright.bash", bash_completions(program));
    write_whole(folder + "/_ebbwright", zsh_completions(program));
    write_whole(folder + "/ebbwright.fish", fish_completions(program));
}

const char* instructions_here() {
    using Instructions = survey::LaneSolver::Instructions;
    if (survey::LaneSolver::has(Instructions::avx512)) return "avx512";
    return survey::LaneSolver::has(Instructions::avx2) ? "avx2" : "baseline";
}

}  // namespace

std::string about_this_build() {
    return std::string("ebbwright ") + kVersion + "\nsources: " + kSources + "\ncompiler: " + kCompiler + "\nbuild type: " + kBuildType +
           "\nflags: " + kFlags + "\nsanitizers: " + kSanitizers + "\nlibraries: " + kLibraries +
           "\ninstructions on this machine: " + instructions_here();
}

std::optional<ExitStatus> answer_for_installing(const CLI::App& program, int argument_count, const char* const* arguments) {
    const std::string_view asked = argument_count > 1 ? arguments[1] : "";
    if (asked == "--write-manual" && argument_count == 3) {
        write_manual(shown(program), arguments[2]);
    } else if (asked == "--write-completions" && argument_count == 3) {
        write_completions(shown(program), arguments[2]);
    } else if (asked == "--names" && argument_count == 4) {
        write_whole({}, names_in(arguments[2], arguments[3]));
    } else {
        return std::nullopt;
    }
    return ExitStatus::fine;
}

}  // namespace ebb::cli
