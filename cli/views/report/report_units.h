#pragma once
// Units of the axes of plots: one for all plots of a page, whatever the size of the figures.

#include <string>

#include "cli/views/speech.h"
#include "netfiles/units.h"

namespace ebb::cli {

struct AxisUnits {
    explicit AxisUnits(const Speech& speech) : us(speech.units() == layout::UnitSystem::us) {}

    double flow(double flow_m3_s) const { return netfiles::in_unit(flow_m3_s, netfiles::Dimension::flow, us ? "gpm" : "l/min"); }
    double head(double head_m) const { return us ? netfiles::in_unit(head_m, netfiles::Dimension::length, "ft") : head_m; }
    double depth(double depth_m) const { return netfiles::in_unit(depth_m, netfiles::Dimension::length, us ? "in" : "mm"); }
    std::string flow_name() const { return us ? "gpm" : "l/min"; }
    std::string head_name() const { return us ? "ft" : "m"; }
    std::string depth_name() const { return us ? "in" : "mm"; }

    bool us;
};

}  // namespace ebb::cli
