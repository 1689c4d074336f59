#pragma once
// `survey`: what was asked for besides what every command takes.

#include <cstdint>
#include <string>
#include <vector>

#include "cli/request.h"

namespace CLI {
class App;
}

namespace ebb::cli {

/// `--switch "VB1 SB2=short"`: one word of it.
struct SwitchSaid {
    std::string name;
    std::string insert;  ///< empty: not said
};

struct SurveyRequest {
    Request common;
    std::vector<SwitchSaid> switches;
    int at_most_off = -1;    ///< -1: any number
    std::size_t worst = 10;  ///< combinations listed
    bool worst_was_said = false;
    std::uint64_t part = 0, parts = 0;  ///< 0: all of it
    std::vector<std::string> merge;     ///< files of parts to put together
    std::string each_file;              ///< CSV of every combination; empty: none
    std::string keep_file;              ///< how far it is; empty: not kept
    unsigned keep_every_s = 10;
    unsigned threads = 0;  ///< 0: as many as there are cores
};

/// `--switch IDS`: adds the words of it to `to`.
void add_switch_option(CLI::App& command, const std::string& says, std::vector<SwitchSaid>& to);

void add_survey_options(CLI::App& command, SurveyRequest& request);

}  // namespace ebb::cli
