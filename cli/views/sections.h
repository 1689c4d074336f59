#pragma once
// The parts of the text of one arrangement. Each returns "" when the farm has nothing of its kind.

#include <string>
#include <vector>

#include "cli/findings.h"
#include "cli/views/page.h"
#include "cli/views/view.h"

namespace ebb::cli {

/// One arrangement, for the sections to speak about.
struct Scene {
    const layout::Layout& layout;
    const settle::Answer& answer;
    const std::vector<Finding>& found;
    const layout::Conditions& conditions;
    const Speech& speech;
    const Paint& paint;
    bool compact = false;  ///< only what one needs of each of many arrangements: like things in one line
};

// The tables by themselves, for other pages than a plain text; without rows where there is nothing of their kind.
Table levels_table(const Scene& scene);
Table pumps_table(const Scene& scene);
Table nozzles_table(const Scene& scene);
Table standpipes_table(const Scene& scene);
Table siphons_table(const Scene& scene);
Table drains_table(const Scene& scene);
Table pipes_table(const Scene& scene);
Table devices_table(const Scene& scene);
Table tees_table(const Scene& scene);
std::vector<Table> sump_tables(const Scene& scene);  ///< one for each sump

/// One line to paint on the wall of a sump.
struct SumpMark {
    double depth_m = 0.0;
    std::string name, says;
};

/// From the top down, without what is not known. `stopped`: every pump stands in this arrangement.
std::vector<SumpMark> sump_marks(const layout::Vessel& sump, const settle::SumpLedger& ledger, const Speech& speech, bool stopped);

std::string levels_section(const Scene& scene);  ///< vessels: level, freeboard, turnover against its target
std::string sumps_section(const Scene& scene);   ///< the marks to paint on each sump's wall
std::string pumps_section(const Scene& scene);
std::string outlets_section(const Scene& scene);    ///< what each bed, tier and nozzle gets
std::string overflows_section(const Scene& scene);  ///< standpipes and siphons
std::string drains_section(const Scene& scene);
std::string pipes_section(const Scene& scene);
std::string devices_section(const Scene& scene);  ///< filters, supplies, float valves, ponds, tees

/// What the answers rest on, once for all arrangements.
Table assumptions_table(const layout::Layout& layout, const Speech& speech);
std::string assumptions_section(const layout::Layout& layout, const Speech& speech, const Paint& paint);

/// What a vessel flooded to its rim weighs besides its own frame; of a bed from the lightest to the heaviest common media. NaN where its plan is not
/// known.
struct FloodedLoad {
    double low_kg = settle::kUnknown, high_kg = settle::kUnknown;
};
FloodedLoad flooded_load(const layout::Vessel& vessel);

/// Where the work can hurt someone, with the numbers of this farm: a sentence or two each.
std::vector<std::string> cautions(const layout::Layout& layout, const Speech& speech);
std::string cautions_section(const layout::Layout& layout, const Speech& speech, const Paint& paint);

}  // namespace ebb::cli
