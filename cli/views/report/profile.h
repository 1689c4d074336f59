#pragma once
// The hydraulic profile: the farm in elevation, to scale vertically, laid out by program.

#include <nlohmann/json.hpp>
#include <vector>

#include "cli/findings.h"
#include "cli/views/report/html.h"
#include "cli/views/view.h"

namespace ebb::cli {

/// One arrangement as it is drawn first; the page's script then moves water and flows to those of others.
struct ProfileScene {
    const layout::Layout& layout;
    const settle::Answer& answer;
    const layout::Conditions& conditions;
    const std::vector<Finding>& found;
    const Speech& speech;
    std::string stated = {};  ///< what the caption says is shown
};

/// The drawing, as an element `figure` with an `svg` in it.
void draw_profile(html::Node parent, const ProfileScene& scene);

/// What profile.js needs to know of the drawing besides what stands in its attributes.
nlohmann::json profile_data(const layout::Layout& layout);

}  // namespace ebb::cli
