// The page of `report` from inside: nothing a layout says can become markup, and plots show what they are given.
#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>
#include <string>
#include <vector>

#include "cli/views/report/chart.h"
#include "cli/views/report/html.h"
#include "tests/near.h"

using namespace ebb::cli;

namespace {

std::string page_of(const html::Node& body, const std::string& data = "{}") {
    return html::written({.title = "</title><script>1</script>", .styles = {assets::page_css()}, .scripts = {assets::page_js()}, .data = data}, body);
}

std::size_t times(const std::string& text, const std::string& what) {
    std::size_t count = 0;
    for (std::size_t at = text.find(what); at != std::string::npos; at = text.find(what, at + 1)) ++count;
    return count;
}

std::string drawn(const Plot& plot) {
    Painter painter;
    pugi::xml_document document;
    painter.draw(document.append_child("body"), plot, "caption");
    return page_of(document.first_child());
}

/// The height of the line through the points at `x`.
double on_line(const Points& points, double x) {
    for (std::size_t i = 1; i < points.x.size(); ++i)
        if (x <= points.x[i]) return points.y[i - 1] + (points.y[i] - points.y[i - 1]) * (x - points.x[i - 1]) / (points.x[i] - points.x[i - 1]);
    return points.y.back();
}

}  // namespace

TEST_SUITE("report page") {
    TEST_CASE("text and attributes are escaped, whatever they hold") {
        pugi::xml_document document;
        const html::Node body = document.append_child("body");
        html::add(body, "p", {{"title", "\"><script>2</script>"}}, "<script>3</script> & \"so\"");
        Table table({{"<i>", Align::left}});
        table.add({"<script>4</script>"}, Ink::trouble);
        html::table(body, table, "<b>");
        const std::string page = page_of(body);
        CHECK(times(page, "<script>1") == 0);
        CHECK(times(page, "<script>2") == 0);
        CHECK(times(page, "<script>3") == 0);
        CHECK(times(page, "<script>4") == 0);
        CHECK(times(page, "<i>") == 0);
        CHECK(times(page, "<b>") == 0);
        CHECK(times(page, "&lt;script&gt;") >= 3);
        CHECK(times(page, "<script") == 2);  // the data, and ours
    }

    TEST_CASE("data cannot end the element it stands in, nor begin a comment") {
        pugi::xml_document document;
        const std::string page = page_of(document.append_child("body"), R"({"a":"</script><!--<script>"})");
        CHECK(times(page, "</script>") == 2);
        CHECK(times(page, "<!--") == 0);
        CHECK(page.find(R"(\u003c/script>\u003c!--\u003cscript>)") != std::string::npos);
    }

    TEST_CASE("empty elements have their end tag, and those of HTML that never have one do not") {
        pugi::xml_document document;
        const html::Node body = document.append_child("body");
        html::add(body, "td");
        html::add(body, "input", {{"type", "checkbox"}});
        const std::string page = page_of(body);
        CHECK(page.find("<td></td>") != std::string::npos);
        CHECK(page.find("</input>") == std::string::npos);
    }

    TEST_CASE("a plot stands where its numbers say") {
        Plot plot;
        plot.x = {"x", 0.0, 10.0};
        plot.y = {"y", 0.0, 10.0};
        PlotSeries points;
        points.look = PlotSeries::Look::points;
        points.x = {0.0, 5.0, 10.0};
        points.y = {0.0, 5.0, 10.0};
        plot.series = {points};
        const std::string page = drawn(plot);
        std::vector<double> x, y;
        for (std::size_t at = page.find("translate("); at != std::string::npos; at = page.find("translate(", at + 1)) {
            const std::size_t comma = page.find(',', at);
            x.push_back(std::stod(page.substr(at + 10)));
            y.push_back(std::stod(page.substr(comma + 1)));
        }
        REQUIRE(x.size() == 3);
        CHECK(x[1] == ebb::test::near(0.5 * (x[0] + x[2])).epsilon(1e-3));
        CHECK(y[1] == ebb::test::near(0.5 * (y[0] + y[2])).epsilon(1e-3));
        CHECK(x[2] > x[0]);
        CHECK(y[2] < y[0]);  // upwards is more
    }

    TEST_CASE("names in a plot are escaped, and what cannot be drawn breaks the line") {
        Plot plot;
        PlotSeries line;
        line.name = "</text><script>5</script>&";
        line.x = {0.0, 1.0, 2.0, 3.0, 4.0};
        line.y = {0.0, 1.0, std::nan(""), 1.0, 0.0};
        plot.series = {line};
        plot.says = "<svg onload=1>";
        const std::string page = drawn(plot);
        CHECK(times(page, "<script>5") == 0);
        CHECK(times(page, "<svg onload") == 0);
        CHECK(times(page, "NaN") == 0);
        const std::size_t path = page.rfind("line s0 d0\"");  // the first is its sign in the legend
        REQUIRE(path != std::string::npos);
        const std::size_t begin = page.rfind("d=\"", path);
        CHECK(times(page.substr(begin, path - begin), "M") == 2);  // begun twice
    }

    TEST_CASE("a line with fewer points stays within its tolerance") {
        std::vector<double> x, y;
        for (int i = 0; i <= 2000; ++i) {
            x.push_back(i * 0.01);
            y.push_back(std::sin(x.back()) + (i > 1000 ? 0.5 : 0.0));
        }
        for (const double tolerance : {1e-3, 1e-2, 1e-1}) {
            const Points kept = thinned(x, y, tolerance);
            CHECK(kept.x.size() < x.size() / 10);
            CHECK(kept.x.front() == x.front());
            CHECK(kept.x.back() == x.back());
            double worst = 0.0;
            for (std::size_t i = 0; i < x.size(); ++i) worst = std::max(worst, std::abs(on_line(kept, x[i]) - y[i]));
            CHECK(worst <= tolerance * (1.0 + 1e-9));
        }
        CHECK(thinned({}, {}, 1.0).x.empty());
        CHECK(thinned({1.0}, {2.0}, 1.0).x.size() == 1);
        const Points jump = thinned({0.0, 1.0, 1.0, 2.0}, {0.0, 0.0, 5.0, 5.0}, 0.1);  // at one moment two levels: both ends stay
        CHECK(jump.x.size() == 4);
    }
}
