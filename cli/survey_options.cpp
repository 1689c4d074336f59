// The command line of `survey`.

#include <CLI/CLI.hpp>

#include <string_view>

#include "cli/number_option.h"
#include "cli/survey.h"
#include "cli/survey_switches.h"

namespace ebb::cli {
namespace {

void add_switches(const std::string& text, std::vector<SwitchSaid>& to) {
    const SwitchText read = read_switches(text);
    if (!read.wrong.empty()) throw CLI::ValidationError("--switch", read.wrong);
    to.insert(to.end(), read.said.begin(), read.said.end());
}

void read_part(const std::string& text, SurveyRequest& request) {
    constexpr std::uint64_t kMostParts = 1'000'000;
    const std::size_t slash = text.find('/');
    const bool reads = slash != std::string::npos && read_whole(std::string_view(text).substr(0, slash), request.part) &&
                       read_whole(std::string_view(text).substr(slash + 1), request.parts);
    if (!reads) throw CLI::ValidationError("--part", "'" + text + "' does not read as a part; write 3/8 for the third of eight");
    if (request.part < 1 || request.part > request.parts || request.parts > kMostParts) {
        throw CLI::ValidationError("--part", "there is no part " + text + ": parts are numbered from 1 to how many there are, a million at most");
    }
}

}  // namespace

void add_switch_option(CLI::App& command, const std::string& says, std::vector<SwitchSaid>& to) {
    command
        .add_option_function<std::vector<std::string>>(
            "--switch",
            [&to](const std::vector<std::string>& texts) {
                for (const std::string& text : texts) add_switches(text, to);
            },
            says)
        ->option_text("IDS")
        ->allow_extra_args(false);
}

void add_survey_options(CLI::App& command, SurveyRequest& request) {
    constexpr int kMostOff = 62;
    constexpr unsigned kMostBetween_s = 86'400;
    constexpr std::size_t kMostWorst = 10'000;
    command.get_option("--arrangement")->description("the arrangement in which things are switched (else the first of the layout)");
    add_switch_option(
        command,
        "what is switched on and off: valves, pumps and standpipes, several at once with spaces or commas between them: \"VB1 VB2 PP\"; a "
        "standpipe changes its insert (\"SB1\" with two inserts, or \"SB1=short\"); a name that holds a space stands in quotes of its own: "
        "\"VB1 SB1='very short'\"; a vessel stands for the one valve in its one feed; may be given again for more",
        request.switches);
    add_number(command, "--at-most-off", "only the combinations with at most so many off at once", 0, kMostOff, request.at_most_off);
    add_number(command, "--worst", "how many of the worst combinations are listed (10)", std::size_t{0}, kMostWorst, request.worst);
    command.get_option("--worst")->each([&request](const std::string&) { request.worst_was_said = true; });
    command.add_option("--each", request.each_file, "write every combination to FILE, a row of CSV each")->option_text("FILE");
    add_threads(command, request.threads);
    command
        .add_option("--keep", request.keep_file,
                    "keep in FILE how far it is, now and then and when it is interrupted; the same command then goes on from there")
        ->option_text("FILE");
    add_number(command, "--keep-every", "keep it every so many seconds (10)", 0U, kMostBetween_s, request.keep_every_s);
    command
        .add_option_function<std::string>(
            "--part", [&request](const std::string& text) { read_part(text, request); },
            "only this part of the combinations (\"3/8\": the third of eight), as JSON for --merge")
        ->option_text("K/N");
    command.add_option("--merge", request.merge, "put parts together: what comes out is what one run over all would have said")->option_text("FILES");
}

}  // namespace ebb::cli
