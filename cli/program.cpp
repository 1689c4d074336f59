#include "cli/program.h"

#include <sys/ioctl.h>
#include <unistd.h>

#include <CLI/CLI.hpp>
#include <algorithm>
#include <cstdlib>
#include <exception>
#include <filesystem>
#include <functional>
#include <map>
#include <new>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "cli/commands.h"
#include "cli/cycle_questions.h"
#include "cli/endings.h"
#include "cli/for_installing.h"
#include "cli/messages.h"
#include "cli/output.h"
#include "cli/uncertain_options.h"
#include "cli/views/page.h"
#include "solver/layout/nearest.h"
#include "solver/version.h"

namespace ebb::cli {
namespace {

using Command = std::function<ExitStatus(const Request&, Output&)>;

const char* const kWayToHelp = " 'ebbwright --help' shows how to ask.";

const char* const kFooter = "\nEnds with 0 when all is fine, 2 when the command line is wrong, 3 when a file is wrong,\n"
                            "4 when no solution could be found, 5 when a target is missed and --strict was given.\n"
                            "Ebbwright advises; local plumbing, electrical and structural rules govern.";

/// The options all commands share; each text stands beside what reads it.
void add_common_options(CLI::App& command, Request& request) {
    static const std::map<std::string, Format> formats{{"text", Format::text}, {"json", Format::json}, {"csv", Format::csv}};
    command.add_option("--format", request.format, "text for people (the default), json or csv for programs")
        ->transform(CLI::CheckedTransformer(formats))
        ->option_text("text|json|csv");
    command.add_option("-o,--output", request.output_file, "write the results to FILE; it appears complete or not at all")->option_text("FILE");
    command
        .add_option_function<std::string>(
            "--units", [&request](const std::string& name) { request.units = name == "us" ? layout::UnitSystem::us : layout::UnitSystem::si; },
            "units of text: si or us; the layout says which when this does not")
        ->check(CLI::IsMember({"si", "us"}))
        ->option_text("si|us");
    command.add_flag("--strict", request.strict, "end with 5 when a target of the layout is missed");
}

void add_arrangement_option(CLI::App& command, Request& request) {
    command.add_option("--arrangement", request.arrangements, "only the arrangement of this name; may be given again for more")
        ->option_text("NAME")
        ->allow_extra_args(false);
}

/// One command of the program, with its own description.
CLI::App* add_command(CLI::App& program, Request& request, const char* name, const char* says) {
    CLI::App* command = program.add_subcommand(name, says);
    add_common_options(*command, request);
    command->footer(kFooter);
    return command;
}

bool output_may_be_coloured(const Request& request) {
    const char* no_colour = std::getenv("NO_COLOR");
    const char* terminal = std::getenv("TERM");
    const bool unwanted = no_colour != nullptr && *no_colour != '\0';
    const bool unable = terminal != nullptr && std::string_view(terminal) == "dumb";
    return request.format == Format::text && request.output_file.empty() && !unwanted && !unable && ::isatty(STDOUT_FILENO) == 1;
}

/// Columns of the terminal that results go to; of a page otherwise.
std::size_t page_width(const Request& request) {
    constexpr std::size_t kPage = 100;
    constexpr std::size_t kNarrowest = 60;
    winsize size{};
    const bool terminal = request.output_file.empty() && ::isatty(STDOUT_FILENO) == 1 && ::ioctl(STDOUT_FILENO, TIOCGWINSZ, &size) == 0;
    return terminal && size.ws_col > 0 ? std::max<std::size_t>(kNarrowest, size.ws_col) : kPage;
}

/// Whether the environment says that its letters are UTF-8: the first of these that is set decides, as POSIX has it.
bool speaks_utf8() {
    for (const char* name : {"LC_ALL", "LC_CTYPE", "LANG"}) {
        const char* value = std::getenv(name);
        if (value != nullptr && *value != '\0') {
            const std::string_view locale(value);
            return locale.find("UTF-8") != std::string_view::npos || locale.find("utf8") != std::string_view::npos;
        }
    }
    return false;
}

/// CSV has no place to say that the run was interrupted: a file of it would be taken for the whole.
bool rows_would_look_whole(const Request& request) {
    std::error_code ignored;
    const auto there = std::filesystem::status(request.output_file, ignored);
    return request.format == Format::csv && !request.output_file.empty() &&
           (!std::filesystem::exists(there) || std::filesystem::is_regular_file(there));
}

/// `tells_of_files`: the results of the command say what is wrong with a file, and are wanted then too.
ExitStatus run_command(const Command& command, Request& request, bool tells_of_files) {
    request.colour = output_may_be_coloured(request);
    request.width = page_width(request);
    request.block_letters = speaks_utf8();
    Output output(request.output_file);
    const ExitStatus status = command(request, output);
    const bool interrupted = status == ExitStatus::interrupted, rows_cut = interrupted && rows_would_look_whole(request);
    if (rows_cut) tell("'" + request.output_file + "' stays as it was: rows cannot say that some are missing");
    const bool nothing_to_keep = interrupted && (rows_cut || output.nothing_written());  // the file stays as it was
    if (status != ExitStatus::command_line && (status != ExitStatus::file || tells_of_files) && !nothing_to_keep) {
        output.finish();
    }
    return status;
}

/// Help with its long lines broken, so that what an option does stays in its column.
std::string folded(const std::string& help) {
    constexpr std::size_t kPage = 100;
    constexpr std::size_t kDescribedFrom = 30;  // the column CLI11 writes descriptions in
    std::string text;
    for (std::size_t begin = 0; begin < help.size();) {
        const std::size_t end = std::min(help.find('\n', begin), help.size());
        const std::string_view line = std::string_view(help).substr(begin, end - begin);
        const std::size_t indent = line.starts_with(' ') ? kDescribedFrom : 0;
        text +=
            width_of(line) > kPage && line.size() > indent ? wrapped(line.substr(0, indent), line.substr(indent), kPage) : std::string(line) + '\n';
        begin = end + 1;
    }
    return text;
}

/// CLI11 throws for a wrong command line and for --help alike; only the second is a result.
ExitStatus end_of_parsing(const CLI::App& program, const CLI::ParseError& error) {
    if (error.get_exit_code() == static_cast<int>(CLI::ExitCodes::Success)) {
        Output output{std::string()};
        if (const auto* version = dynamic_cast<const CLI::CallForVersion*>(&error)) {
            output.write(std::string(version->what()) + "\n");
        } else {
            const std::vector<CLI::App*> commands = program.get_subcommands();
            output.write(folded(commands.empty() ? program.help() : commands.front()->help(program.get_name())));
        }
        output.finish();
        return ExitStatus::fine;
    }
    const std::string what = error.what();
    tell(what + (what.ends_with('.') || what.ends_with('\n') ? "" : ".") + kWayToHelp);
    return ExitStatus::command_line;
}

/// What stands where a command should, and what to write there instead; nothing when the line is wrong in another way.
std::string missing_command(const CLI::App& program, const CLI::ParseError& error, const std::string& word) {
    const bool help_of_no_command = error.get_name() == "CallForHelp" && !word.empty() && !word.starts_with('-');
    const bool missing = error.get_exit_code() == static_cast<int>(CLI::ExitCodes::RequiredError) || help_of_no_command;
    if (!missing || !program.get_subcommands().empty()) {
        return {};
    }
    std::vector<std::string> names;
    std::string known;
    for (const CLI::App* command : program.get_subcommands([](const CLI::App*) { return true; })) {
        names.push_back(command->get_name());
        known += (known.empty() ? "The commands are " : ", ") + names.back();
    }
    if (word.empty() || word.starts_with('-')) {
        return "a command is missing. " + known + "; the layout file comes after it.";
    }
    const std::vector<std::string_view> candidates(names.begin(), names.end());
    const std::string near = layout::nearest_word(word, candidates);
    return "there is no command '" + word + "'" + (near.empty() ? ". " : "; did you mean '" + near + "'? ") + known +
           "; the layout file comes after it.";
}

ExitStatus parse_and_run(int argument_count, const char* const* arguments) {
    CycleRequest cycle_request;
    Request& request = cycle_request.common;
    PumpsRequest pumps_request;
    PipesRequest pipes_request;
    BalanceRequest balance_request;
    SurveyRequest survey_request;
    DiagnoseRequest diagnose_request;
    ReportRequest report_request;
    CLI::App program("Ebbwright finds where the water goes in a fish-and-plant farm: flows, levels, pump duty, and what happens in time.",
                     "ebbwright");
    program.set_version_flag("--version", std::string("ebbwright ") + kVersion, "the version, and nothing else");
    program.add_flag_callback(
        "--about", [] { throw CLI::CallForVersion(about_this_build(), 0); },
        "how this program was built: version, sources, compiler, flags, libraries, instructions chosen here");
    program.require_subcommand(1);
    program.footer("\n'ebbwright COMMAND --help' tells more about a command.");

    CLI::App* check = add_command(program, request, "check", "Say everything that is wrong with a layout file, and what looks doubtful");
    CLI::App* flows = add_command(program, request, "flows", "Solve every arrangement: flows, levels, turnover, pump duty");
    CLI::App* survey =
        add_command(program, request, "survey", "Solve every combination of valves, pumps and standpipes on and off: the least, the most, the worst");
    CLI::App* cycle = add_command(program, request, "cycle", "Follow routines in time: beds that fill and drain, levels, spills, energy, events");
    CLI::App* pumps =
        add_command(program, request, "pumps", "Choose pumps: the duty needed, candidates ranked by their cost over the years, what if one stops");
    CLI::App* pipes = add_command(program, request, "pipes", "Choose pipe sizes: the cheapest that meet every target and keep the limits");
    CLI::App* balance = add_command(program, request, "balance", "Set valves: openings that give each outlet its target with the least throttling");
    CLI::App* diagnose =
        add_command(program, request, "diagnose", "Find what is wrong from a few readings: faults ranked, what is ruled out, what to read next");
    CLI::App* report = add_command(program, request, "report", "Write one page in HTML to look at, print and keep, in which things can be switched");
    CLI::App* catalogue = add_command(program, request, "catalogue", "List pipe series, fittings, valves and pump models");
    for (CLI::App* command : {check, flows, cycle, pumps, pipes, balance, diagnose, report}) {
        command->add_option("layout", request.layout_file, "the layout file")->required()->option_text("LAYOUT");
        add_arrangement_option(*command, request);
    }
    survey->add_option("layout", request.layout_file, "the layout file (with --merge: the one the parts name, when it is left away)")
        ->option_text("LAYOUT");
    add_arrangement_option(*survey, request);
    add_survey_options(*survey, survey_request);
    add_uncertain_options(*flows, request);
    flows->add_flag("--all", request.everything, "text: every pipe, drain, overflow and tee of every arrangement, and all that was assumed");
    add_cycle_options(*cycle, cycle_request);
    add_question_options(*cycle, cycle_request);
    add_pumps_options(*pumps, pumps_request);
    add_pipes_options(*pipes, pipes_request);
    add_balance_options(*balance, balance_request);
    add_diagnose_options(*diagnose, diagnose_request);
    add_report_options(*report, report_request);
    diagnose->add_flag("--all", request.everything, "text: every explanation and everything that was ruled out");
    pumps->add_flag("--all", request.everything, "text: every candidate that would do, not only the first");
    catalogue->add_option("file", request.layout_file, "a catalogue or a layout file whose own entries are listed too")->option_text("[FILE]");

    if (const std::optional<ExitStatus> answered = answer_for_installing(program, argument_count, arguments)) return *answered;
    try {
        program.parse(argument_count, arguments);
    } catch (const CLI::ParseError& error) {
        if (const std::string wrong = missing_command(program, error, argument_count > 1 ? arguments[1] : ""); !wrong.empty()) {
            tell(wrong + kWayToHelp);
            return ExitStatus::command_line;
        }
        return end_of_parsing(program, error);
    }
    if (pumps->parsed()) {
        const auto run = [&](const Request& common, Output& output) {
            pumps_request.common = common;
            return run_pumps(pumps_request, output);
        };
        return run_command(run, request, false);
    }
    if (pipes->parsed()) {
        const auto run = [&](const Request& common, Output& output) {
            pipes_request.common = common;
            return run_pipes(pipes_request, output);
        };
        return run_command(run, request, false);
    }
    if (balance->parsed()) {
        const auto run = [&](const Request& common, Output& output) {
            balance_request.common = common;
            return run_balance(balance_request, output);
        };
        return run_command(run, request, false);
    }
    if (diagnose->parsed()) {
        const auto run = [&](const Request& common, Output& output) {
            diagnose_request.common = common;
            return run_diagnose(diagnose_request, output);
        };
        return run_command(run, request, false);
    }
    if (report->parsed()) {
        const auto run = [&](const Request& common, Output& output) {
            report_request.common = common;
            return run_report(report_request, output);
        };
        return run_command(run, request, false);
    }
    if (survey->parsed()) {
        const auto run = [&](const Request& common, Output& output) {
            survey_request.common = common;
            return run_survey(survey_request, output);
        };
        return run_command(run, request, false);
    }
    if (cycle->parsed()) {
        return run_command([&](const Request&, Output& output) { return run_cycle(cycle_request, output); }, request, false);
    }
    return run_command(check->parsed() ? &run_check : flows->parsed() ? &run_flows : &run_catalogue, request, check->parsed());
}

}  // namespace

ExitStatus run_program(int argument_count, const char* const* arguments) {
    prepare_for_endings();
    try {
        return parse_and_run(argument_count, arguments);
    } catch (const OutputClosed&) {
        return ExitStatus::fine;
    } catch (const OutputFailed& failure) {
        tell(failure.what());
        return ExitStatus::command_line;
    } catch (const std::bad_alloc&) {
        tell("not enough memory for a layout of this size");
        return ExitStatus::no_solution;
    } catch (const std::exception& failure) {
        tell(std::string("a fault of the program itself: ") + failure.what());
        return ExitStatus::no_solution;
    }
}

}  // namespace ebb::cli
