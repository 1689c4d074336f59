#include "cli/cycle_questions.h"

#include <CLI/CLI.hpp>
#include <array>

#include "netfiles/units.h"

namespace ebb::cli {
namespace {

constexpr std::array kQuestions = {
    Question{[](const CycleRequest& request) { return request.power_cut; }, answer_power_cut},
    Question{[](const CycleRequest& request) { return request.fill; }, answer_fill},
    Question{[](const CycleRequest& request) { return !request.drain.empty(); }, answer_drain},
    Question{[](const CycleRequest& request) { return !request.ifs.empty(); }, answer_if},
    Question{[](const CycleRequest& request) { return request.change.has_value(); }, answer_change},
    Question{[](const CycleRequest& request) { return !request.siphon_window.empty(); }, answer_siphon_window},
};

void add_hose(CLI::App& command, CycleRequest& request) {
    const auto read = [&request](const std::string& text) {
        const netfiles::Quantity quantity = netfiles::parse_quantity(text, netfiles::Dimension::flow);
        if (!quantity.good()) {
            throw CLI::ValidationError("--hose", quantity.says + (quantity.advice.empty() ? "" : "; " + quantity.advice));
        }
        if (!(quantity.value > 0.0)) {
            throw CLI::ValidationError("--hose", "'" + text + "' is not more than nothing");
        }
        request.hose_m3_s = quantity.value;
    };
    command.add_option_function<std::string>("--hose", read, "with --fill: what the hose of each loop gives (\"20 l/min\")")->option_text("FLOW");
}

}  // namespace

std::span<const Question> questions() { return kQuestions; }

void add_question_options(CLI::App& command, CycleRequest& request) {
    command.add_flag("--power-cut", request.power_cut,
                     "every pump stops: what comes home, what siphons back, what spills; then whether the farm comes back by itself. With --lasts "
                     "TIME, a cut of that length; with --routine, at the worst moment of its cycle");
    command.add_flag("--fill", request.fill, "the first fill of a dry farm by hose: how long, how much water, in which order");
    add_hose(command, request);
    command.add_option("--drain", request.drain, "shut what feeds this vessel and let it drain: how long, where to, where it stops")
        ->option_text("VESSEL");
    command
        .add_option(
            "--if", request.ifs,
            "what fails now: \"VB3 shuts\", \"VB3 opens\", \"P1 stops\", \"drain-B3 blocks\", \"feed-B1 breaks\"; how long until something runs "
            "over or goes without water. May be given again for more; with --lasts TIME for so long, with --routine while that runs")
        ->option_text("WHAT")
        ->allow_extra_args(false);
    command
        .add_option_function<std::vector<std::string>>(
            "--change",
            [&request](const std::vector<std::string>& names) {
                request.change = ChangeWanted{names.at(0), names.at(1)};
            },
            "from one arrangement to another: an order of moves in which nothing spills and no intake goes bare, with the levels after each")
        ->expected(2)
        ->option_text("FROM TO");
    command
        .add_option("--siphon-window", request.siphon_window,
                    "how much water may run into this bed so that its siphon starts and breaks, and where the bed stands in that; name an "
                    "--arrangement, or each is looked at")
        ->option_text("BED");
}

}  // namespace ebb::cli
