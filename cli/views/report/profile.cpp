#include "cli/views/report/profile.h"

namespace ebb::cli {

void draw_profile(html::Node parent, const ProfileScene& scene) {
    const html::Node figure = html::add(parent, "figure", {{"class", "profile"}});
    html::add(figure, "figcaption", {}, scene.answer.name);
}

nlohmann::json profile_data(const layout::Layout& /*layout*/) { return nlohmann::json::object(); }

}  // namespace ebb::cli
