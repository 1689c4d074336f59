// The drawing of the hydraulic profile: nothing lies on another thing, heights are to scale, and no name of a layout becomes markup.

#include "cli/views/report/profile.h"

#include <doctest/doctest.h>
#include <fmt/format.h>

#include <cmath>
#include <fstream>
#include <sstream>
#include <string>
#include <vector>

#include "cli/findings.h"
#include "cli/views/report/profile_axis.h"
#include "cli/views/report/profile_path.h"
#include "cli/views/report/profile_places.h"
#include "cli/views/report/profile_routes.h"
#include "netfiles/reader.h"
#include "solver/layout/validate.h"
#include "solver/settle/many.h"
#include "tests/near.h"

namespace {

namespace layout = ebb::layout;
namespace profile = ebb::cli::profile;

layout::Vessel vessel(const std::string& id, double floor_m, double rim_m) {
    layout::Vessel one;
    one.id = id;
    one.floor_m = floor_m;
    one.rim_m = rim_m;
    one.volume = layout::prism_volume(1.0, rim_m - floor_m);
    one.plan_area_m2 = 1.0;
    one.start_depth_m = (rim_m - floor_m) / 2.0;
    return one;
}

layout::Pipe pipe(const std::string& id, const std::string& from, const std::string& to, double to_height_m) {
    layout::Pipe one;
    one.id = id;
    one.from.id = from;
    one.to.id = to;
    one.to.height_m = to_height_m;
    one.length_m = 2.0;
    one.bore_m = 0.025;
    one.roughness_m = 1e-5;
    return one;
}

/// Vessels on a header along which a pipe from a sump goes.
layout::Layout farm(const std::vector<double>& floors_m) {
    layout::Layout made;
    made.vessels.push_back(vessel("S", -1.0, 0.0));
    std::string last = "S";
    for (std::size_t i = 0; i < floors_m.size(); ++i) {
        const std::string tee_id = fmt::format("J{}", i), id = fmt::format("V{}", i);
        layout::Tee tee;
        tee.id = tee_id;
        tee.elevation_m = -0.5;
        made.tees.push_back(tee);
        made.vessels.push_back(vessel(id, floors_m[i], floors_m[i] + 0.5));
        made.pipes.push_back(pipe("h" + id, last, tee_id, layout::kNotSaid));
        made.pipes.push_back(pipe("f" + id, tee_id, id, 0.4));
        last = tee_id;
    }
    const auto problems = layout::validate(made);
    for (const auto& problem : problems) FAIL(problem.code, ": ", problem.says);
    return made;
}

struct Drawn {
    profile::Places places;
    std::vector<profile::Route> routes;
};
Drawn places_of(const layout::Layout& made) {
    Drawn drawn{profile::ordered_places(made, layout::kNotSaid), {}};
    drawn.routes = profile::routed(made, drawn.places);
    return drawn;
}

int overlaps(const profile::Places& places) {
    int count = 0;
    for (std::size_t i = 0; i < places.vessels.size(); ++i)
        for (std::size_t k = i + 1; k < places.vessels.size(); ++k) count += places.vessels[i].meets(places.vessels[k]) ? 1 : 0;
    return count;
}

void is_sound(const Drawn& drawn) {
    CHECK(overlaps(drawn.places) == 0);
    CHECK(std::isfinite(drawn.places.width));
    CHECK(std::isfinite(drawn.places.axis.height()));
    int outside = 0;
    for (const profile::Route& route : drawn.routes) {
        CHECK(route.points.size() >= 2);
        for (const profile::Point& point : route.points)
            outside += point.x >= 0.0 && point.x <= drawn.places.width && point.y >= 0.0 && point.y <= drawn.places.axis.height() ? 0 : 1;
    }
    CHECK(outside == 0);
    for (const profile::Box& box : drawn.places.vessels) CHECK(box.right > box.left);
}

/// The figure as it stands in the page, without a solution behind it or with one.
std::string figure_of(const layout::Layout& made, const ebb::settle::Answer& answer) {
    const ebb::cli::Speech speech(made.units);
    const std::vector<ebb::cli::Finding> found;
    const layout::Conditions conditions = layout::conditions_of(made, 0);
    pugi::xml_document document;
    ebb::cli::draw_profile(document.append_child("body"), {made, answer, conditions, found, speech});
    std::ostringstream text;
    document.save(text, "", pugi::format_raw);
    return text.str();
}

layout::Layout read_example(const std::string& name) {
    const ebb::netfiles::ReadResult read = ebb::netfiles::read_layout(std::string(EBB_SOURCE_DIR) + "/examples/" + name);
    REQUIRE(read.good());
    return read.layout;
}

ebb::settle::Answer settled(const layout::Layout& made) {
    ebb::settle::Many many(made, {}, {0}, 1);
    return many.take(0);
}

int times(const std::string& text, const std::string& what) {
    int count = 0;
    for (std::size_t at = text.find(what); at != std::string::npos; at = text.find(what, at + 1)) ++count;
    return count;
}

}  // namespace

TEST_CASE("the example farm: vessels stand apart, and every thing has its numbers") {
    const layout::Layout made = read_example("farm.xml");
    is_sound(places_of(made));
    const std::string figure = figure_of(made, settled(made));
    CHECK(times(figure, "data-vessel=\"") == static_cast<int>(made.vessels.size()));
    CHECK(times(figure, "data-pipe=\"") == static_cast<int>(made.pipes.size()));
    CHECK(times(figure, "data-valve=\"") == static_cast<int>(made.valves.size()));
    CHECK(times(figure, "data-tee=\"") == static_cast<int>(made.tees.size()));
    CHECK(times(figure, "<title>tank T1: ") == 1);
    CHECK(times(figure, "style=") == 0);  // the page's policy would refuse it
    CHECK(times(figure, "nan") == 0);
    CHECK(times(figure, "inf ") == 0);
}

TEST_CASE("tiers one above the other share a column") {
    const layout::Layout made = read_example("farm.xml");
    const Drawn drawn = places_of(made);
    std::vector<double> left;
    for (std::size_t i = 0; i < made.vessels.size(); ++i)
        if (made.vessels[i].kind == layout::VesselKind::tier) left.push_back(drawn.places.vessels[i].left);
    REQUIRE(left.size() == 4);
    for (const double x : left) CHECK(x == left.front());
}

TEST_CASE("heights are to scale") {
    const layout::Layout made = farm({0.2, 0.7, 1.4});
    const Drawn drawn = places_of(made);
    is_sound(drawn);
    REQUIRE(drawn.places.axis.breaks().empty());
    const profile::Box &tall = drawn.places.vessels[0], &low = drawn.places.vessels[1];
    CHECK((tall.bottom - tall.top) / (low.bottom - low.top) == ebb::test::near(1.0 / 0.5));
    const double between = drawn.places.vessels[1].bottom - drawn.places.vessels[3].bottom;
    CHECK(between / (tall.bottom - tall.top) == ebb::test::near((1.4 - 0.2) / 1.0));
}

TEST_CASE("three hundred vessels are drawn, and none lies on another") {
    std::vector<double> floors_m;
    for (int i = 0; i < 300; ++i) floors_m.push_back(0.1 * (i % 7));
    const layout::Layout made = farm(floors_m);
    is_sound(places_of(made));
    const std::string figure = figure_of(made, {});
    CHECK(times(figure, "data-vessel=\"") == 301);
    CHECK(times(figure, "nan") == 0);
}

TEST_CASE("what has a place along the farm stands in that order, about as far apart") {
    layout::Layout made = farm({0.2, 0.5, 0.3, 0.6});
    made.vessels[1].x_m = 10.0;
    made.vessels[2].x_m = 8.0;
    made.vessels[4].x_m = 0.0;
    const Drawn drawn = places_of(made);
    is_sound(drawn);
    const auto left = [&](std::size_t i) { return drawn.places.vessels[i].left; };
    CHECK(left(4) < left(2));
    CHECK(left(2) < left(1));
    CHECK(left(2) - left(4) > 2.0 * (left(1) - left(2)));
    made.tees[0].x_m = 12.0;
    made.tees[3].x_m = -2.0;
    const Drawn with_tees = places_of(made);
    is_sound(with_tees);
    CHECK(with_tees.places.tees[0].at.x > with_tees.places.vessels[1].right);
    CHECK(with_tees.places.tees[3].at.x < with_tees.places.vessels[4].left);
}

TEST_CASE("absurd elevations: the empty heights are cut out, the scale stays") {
    const layout::Layout made = farm({400.0, -300.0, 0.2, 0.9});
    const Drawn drawn = places_of(made);
    is_sound(drawn);
    CHECK(drawn.places.axis.breaks().size() == 2);
    for (std::size_t i = 1; i < made.vessels.size(); ++i) {
        const profile::Box& box = drawn.places.vessels[i];
        CHECK(box.bottom - box.top == ebb::test::near(0.5 * drawn.places.axis.pixels_per_metre()));
        CHECK(box.bottom - box.top > 20.0);
    }
    CHECK(times(figure_of(made, {}), "class=\"break\"") == 2);
}

TEST_CASE("the way back from a place on the drawing to its elevation") {
    const profile::Axis axis({{-300.0, -298.0}, {0.0, 2.0}, {400.0, 401.0}}, 1.0, layout::kNotSaid);
    for (const double elevation_m : {-301.0, -299.0, -100.0, 0.0, 1.3, 200.0, 400.5, 402.0})
        CHECK(std::abs(axis.elevation(axis.y(elevation_m)) - elevation_m) <= 1e-9);
    CHECK(axis.y(1.0) > axis.y(2.0));
}

TEST_CASE("one vessel alone") {
    layout::Layout made;
    made.vessels.push_back(vessel("T", 0.0, 1.0));
    layout::validate(made);
    const std::string figure = figure_of(made, {});
    CHECK(times(figure, "data-vessel=\"0\"") == 1);
    CHECK(times(figure, "nan") == 0);
    is_sound(places_of(made));
}

TEST_CASE("names of a layout never become markup") {
    layout::Layout made = farm({0.2, 0.5});
    made.vessels[1].id = "</title><script>alert(1)</script>";
    made.tees[0].id = "a\"b&c";
    made.pipes[0].id = "<b>";
    const std::string figure = figure_of(made, {});
    CHECK(times(figure, "<script") == 0);
    CHECK(times(figure, "<b>") == 0);
    CHECK(times(figure, "&lt;/title&gt;&lt;script") > 0);
    CHECK(times(figure, "a&quot;b&amp;c") > 0);
}

TEST_CASE("ways of head lead from the pumps to what they feed") {
    const layout::Layout made = read_example("first.xml");
    const std::vector<profile::HeadPath> paths = profile::head_paths(made);
    REQUIRE(paths.size() == 2);
    for (const profile::HeadPath& path : paths) {
        CHECK(path.things.front().kind == layout::Kind::pump);
        CHECK(path.things.back().kind == layout::Kind::vessel);
        CHECK(path.pipes.size() + 1 == path.things.size());
    }
    const ebb::settle::Answer answer = settled(made);
    const ebb::cli::Speech speech(made.units);
    const std::vector<ebb::cli::Finding> found;
    const layout::Conditions conditions = layout::conditions_of(made, 0);
    const ebb::cli::ProfileScene scene{made, answer, conditions, found, speech};
    const std::vector<profile::Corner> corners = profile::corners(scene, paths.front());
    REQUIRE(corners.size() == 4);  // level of the sump, pump, tee, end
    CHECK(corners[0].head_m == ebb::test::near(answer.vessels[2].level_m));
    CHECK(corners[1].head_m == ebb::test::near(answer.vessels[2].level_m + answer.pumps[0].head_m));
    CHECK(corners[2].head_m < corners[1].head_m);
    CHECK(corners[3].head_m < corners[2].head_m);
}
