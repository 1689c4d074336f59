#pragma once
// `cycle`: what was asked for besides what every command takes, and what its answers are made with.

#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "cli/request.h"
#include "cli/views/view.h"
#include "solver/layout/layout.h"
#include "solver/time/plan.h"

namespace CLI {
class App;
}

namespace ebb::cli {

/// `--change FROM TO`: two arrangements.
struct ChangeWanted {
    std::string from, to;
};

struct CycleRequest {
    Request common;
    std::vector<std::string> routines;  ///< names asked for; empty: all of the layout
    std::optional<double> lasts_s;      ///< instead of the end the routine says
    bool until_repeats = false;
    bool all_events = false;                  ///< text: every event, not only those of the first cycles
    std::string series_file;                  ///< empty: none
    std::optional<double> every_s;            ///< of the series; not said: the solver's own steps
    std::optional<double> level_tolerance_m;  ///< not said: as the solver has it
    // questions in one word
    bool power_cut = false;
    bool fill = false;
    std::optional<double> hose_m3_s;  ///< of --fill, for each loop; not said: a garden tap
    std::string drain;                ///< a vessel; empty: not asked
    std::vector<std::string> ifs;     ///< "VB3 shuts", as written
    std::optional<ChangeWanted> change;
    std::string siphon_window;  ///< a bed; empty: not asked
};

/// A layout read and found valid, and everything a run in time needs besides its plan.
struct CycleSession {
    const CycleRequest& request;
    const layout::Layout& layout;
    const Subject& subject;                         ///< how to speak: units, colour
    const std::vector<std::int32_t>& arrangements;  ///< chosen, in the order of the layout; never empty
    const time::Options& options;                   ///< tolerances as asked; ends on Ctrl-C, tells of progress
};

/// The options of `cycle` besides those all commands share. A wrong quantity is told as the layout reader would tell it.
void add_cycle_options(CLI::App& command, CycleRequest& request);

}  // namespace ebb::cli
