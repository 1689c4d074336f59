#pragma once
// The drawing in its layers. Each part draws itself into its own group; Room keeps their texts apart.

#include <string>
#include <vector>

#include "cli/views/report/html.h"
#include "cli/views/report/profile.h"
#include "cli/views/report/profile_labels.h"
#include "cli/views/report/profile_numbers.h"
#include "cli/views/report/profile_path.h"
#include "cli/views/report/profile_places.h"
#include "cli/views/report/profile_routes.h"

namespace ebb::cli::profile {

struct Sheet {
    const ProfileScene& scene;
    const Places& places;
    const std::vector<Route>& routes;
    Room& room;
    const HeadPath* path = nullptr;  ///< along which the head is drawn, if any
};

// In the order they are drawn in.
void draw_scale(html::Node svg, const Sheet& sheet);
void draw_scale_again(html::Node svg, const Sheet& sheet, double left);  ///< its figures alone, further to the right
void draw_pipes_behind(html::Node svg, const Sheet& sheet);
void draw_vessels(html::Node svg, const Sheet& sheet);
void draw_pipes(html::Node svg, const Sheet& sheet);
void draw_devices(html::Node svg, const Sheet& sheet);
void draw_head(html::Node svg, const Sheet& sheet);
/// The corners of the line that is drawn; none where no head is known.
std::vector<Point> head_points(const Sheet& sheet);

void draw_key(html::Node figure);  ///< the signs and what they mean, under the drawing

/// The corners of a way on the drawing, as the script reads them.
std::string head_points_json(const Sheet& sheet, const HeadPath& path);

/// The group of one thing: it can be stepped to, has its numbers as title and label, and its index under `data-KEY`.
html::Node thing(html::Node parent, const std::string& classes, const std::string& key, std::size_t index, const Told& told);

/// A text at a place found for it.
html::Node text_at(html::Node parent, const TextPlace& place, const std::string& classes);
/// A text, or one more piece of it.
void piece(html::Node text, const std::string& classes, const std::string& says);

std::string path_of(const std::vector<Point>& points);
std::string translate(double x, double y);
std::string metres(double value);  ///< every digit the script needs; empty when not known

// Signs, each drawn about the origin.
void sign_pump(html::Node parent);
void sign_valve(html::Node parent);
void sign_float_valve(html::Node parent);
void sign_filter(html::Node parent);
void sign_nozzle(html::Node parent);
void sign_supply(html::Node parent);
void sign_tee(html::Node parent, bool vented);

}  // namespace ebb::cli::profile
