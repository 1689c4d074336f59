// The charting library is a script; it runs here, in an engine of its own that knows nothing but what it is given, and what it returns is read as a
// tree before it becomes part of the page: nothing that is not well-formed gets in.

#include "cli/views/report/chart.h"

#include <duktape.h>

#include <algorithm>
#include <cmath>
#include <new>
#include <nlohmann/json.hpp>
#include <stdexcept>

namespace ebb::cli {
namespace {

using nlohmann::json;

json number(double value) { return std::isfinite(value) ? json(value) : json(nullptr); }

json numbers(const std::vector<double>& values) {
    json all = json::array();
    for (const double value : values) all.push_back(number(value));
    return all;
}

json of(const Axis& axis) { return {{"label", axis.label}, {"least", number(axis.least)}, {"most", number(axis.most)}}; }

const char* name_of(PlotSeries::Look look) {
    switch (look) {
        case PlotSeries::Look::dashed: return "dashed";
        case PlotSeries::Look::points: return "points";
        case PlotSeries::Look::line: break;
    }
    return "line";
}

json of(const PlotSeries& series) {
    return {{"name", series.name},    {"look", name_of(series.look)}, {"ink", series.ink},
            {"x", numbers(series.x)}, {"y", numbers(series.y)},       {"says", series.says}};
}
json of(const PlotSpan& span) { return {{"from", span.from}, {"to", span.to}, {"name", span.name}, {"says", span.says}, {"ink", span.ink}}; }
json of(const PlotLine& line) { return {{"y", line.y}, {"name", line.name}}; }
json of(const RowPlot::Band& band) { return {{"from", band.from}, {"to", band.to}, {"says", band.says}, {"ink", band.ink}, {"pale", band.pale}}; }
json of(const RowPlot::Point& point) { return {{"x", point.x}, {"says", point.says}, {"ink", point.ink}}; }
json of(const StripPlot::Mark& mark) { return {{"x", mark.x}, {"says", mark.says}, {"ink", mark.ink}}; }

json of(const RowPlot::Row& row);
json of(const StripPlot::Strip& strip);

template <typename Things>
json list(const Things& things) {
    json all = json::array();
    for (const auto& thing : things) all.push_back(of(thing));
    return all;
}

json of(const RowPlot::Row& row) { return {{"name", row.name}, {"after", row.after}, {"bands", list(row.bands)}, {"points", list(row.points)}}; }
json of(const StripPlot::Strip& strip) {
    return {{"name", strip.name},        {"says", strip.says}, {"x", numbers(strip.x)},          {"y", numbers(strip.y)},
            {"least", strip.least},      {"most", strip.most}, {"least_says", strip.least_says}, {"most_says", strip.most_says},
            {"lines", list(strip.lines)}};
}

[[noreturn]] void gave_up(void* /*user*/, const char* why) {
    throw std::runtime_error(std::string("the charting library gave up: ") + (why == nullptr ? "" : why));
}

}  // namespace

struct Painter::Engine {
    Engine() : context(duk_create_heap(nullptr, nullptr, nullptr, nullptr, &gave_up)) {
        if (context == nullptr) throw std::bad_alloc();
        run(assets::d3_js().text, "d3");
        run(assets::charts_js().text, "charts");
    }
    ~Engine() { duk_destroy_heap(context); }
    Engine(const Engine&) = delete;
    Engine& operator=(const Engine&) = delete;

    void run(std::string_view script, const char* name) const {
        // as a program, not as an eval: only so do the functions of a strict script become global
        if (duk_pcompile_lstring(context, 0, script.data(), script.size()) != 0 || duk_pcall(context, 0) != 0) failed(name);
        duk_pop(context);
    }

    [[noreturn]] void failed(const char* what) const {
        const std::string why = duk_safe_to_string(context, -1);
        duk_pop(context);
        throw std::runtime_error(std::string("a plot could not be drawn (") + what + "): " + why);
    }

    html::Node draw(html::Node parent, const json& chart, std::string_view caption) const {
        const std::string text = chart.dump();
        duk_get_global_string(context, "draw");
        duk_push_lstring(context, text.data(), text.size());
        duk_json_decode(context, -1);
        if (duk_pcall(context, 1) != 0) failed("draw");
        duk_size_t size = 0;
        const char* drawn = duk_get_lstring(context, -1, &size);
        pugi::xml_document document;
        const bool good = drawn != nullptr && document.load_buffer(drawn, size, pugi::parse_default | pugi::parse_ws_pcdata_single);
        duk_pop(context);
        if (!good) throw std::runtime_error("a plot could not be drawn: what the charting library made is not well-formed");
        html::Node figure = html::add(parent, "figure", {{"class", "chart"}});
        html::add(figure, "figcaption", {}, caption);
        html::scroll_box(figure, caption).append_copy(document.first_child());
        return figure;
    }

    duk_context* context;
};

Painter::Painter() : engine_(std::make_unique<Engine>()) {}
Painter::~Painter() = default;

html::Node Painter::draw(html::Node parent, const Plot& plot, std::string_view caption) {
    return engine_->draw(parent,
                         {{"kind", "xy"},
                          {"says", plot.says},
                          {"x", of(plot.x)},
                          {"y", of(plot.y)},
                          {"series", list(plot.series)},
                          {"spans", list(plot.spans)},
                          {"lines", list(plot.lines)},
                          {"height", plot.height}},
                         caption);
}

html::Node Painter::draw(html::Node parent, const RowPlot& plot, std::string_view caption) {
    return engine_->draw(parent, {{"kind", "rows"}, {"says", plot.says}, {"x", of(plot.x)}, {"rows", list(plot.rows)}}, caption);
}

html::Node Painter::draw(html::Node parent, const StripPlot& plot, std::string_view caption) {
    return engine_->draw(parent,
                         {{"kind", "strips"},
                          {"says", plot.says},
                          {"x", of(plot.x)},
                          {"strips", list(plot.strips)},
                          {"marks", list(plot.marks)},
                          {"spans", list(plot.spans)}},
                         caption);
}

Points thinned(const std::vector<double>& x, const std::vector<double>& y, double tolerance) {
    // From each point kept, the slopes of lines that pass all later points within the tolerance; where none is left, the last point that had one is
    // kept.
    Points kept;
    if (x.empty()) return kept;
    const auto keep = [&](std::size_t i) {
        kept.x.push_back(x[i]);
        kept.y.push_back(y[i]);
    };
    keep(0);
    std::size_t from = 0;
    double low = -std::numeric_limits<double>::infinity(), high = std::numeric_limits<double>::infinity();
    for (std::size_t i = 1; i < x.size(); ++i) {
        const double run = x[i] - x[from];
        const double slope = run > 0.0 ? (y[i] - y[from]) / run : std::numeric_limits<double>::infinity();
        if (i > from + 1 && !(slope >= low && slope <= high)) {
            from = i - 1;
            keep(from);
            low = -std::numeric_limits<double>::infinity();
            high = std::numeric_limits<double>::infinity();
        }
        const double step = x[i] - x[from];
        if (!(step > 0.0)) {  // a jump: both ends stay
            from = i;
            keep(from);
            low = -std::numeric_limits<double>::infinity();
            high = std::numeric_limits<double>::infinity();
            continue;
        }
        low = std::max(low, (y[i] - tolerance - y[from]) / step);
        high = std::min(high, (y[i] + tolerance - y[from]) / step);
    }
    if (from + 1 < x.size()) keep(x.size() - 1);
    return kept;
}

}  // namespace ebb::cli
