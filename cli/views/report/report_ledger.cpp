// The sump ledger as an upright bar, to scale, with the marks to paint on the wall; and the same in figures.

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "cli/views/report/report_page.h"
#include "cli/views/report/report_words.h"
#include "cli/views/sections.h"
#include "cli/words.h"

namespace ebb::cli {
namespace {

constexpr double kHigh = 300.0, kWide = 420.0, kBarLeft = 20.0, kBarWide = 90.0, kTop = 24.0, kLine = 17.0;

/// Labels in order of height keep a line apart from one another; each is moved no further than that asks.
std::vector<double> apart(std::vector<double> wanted) {
    for (std::size_t i = 1; i < wanted.size(); ++i) wanted[i] = std::max(wanted[i], wanted[i - 1] + kLine);
    const double over = wanted.empty() ? 0.0 : wanted.back() - (kTop + kHigh + 8.0);
    if (over > 0.0) {
        wanted.back() -= over;
        for (std::size_t i = wanted.size() - 1; i > 0; --i) wanted[i - 1] = std::min(wanted[i - 1], wanted[i] - kLine);
    }
    return wanted;
}

void add_bar(html::Node figure, const layout::Vessel& sump, const std::vector<SumpMark>& marks, const Speech& speech) {
    const double height_m = sump.rim_m - sump.floor_m;
    const auto y_of = [&](double depth_m) { return kTop + kHigh * (1.0 - std::clamp(depth_m / height_m, 0.0, 1.0)); };
    std::vector<std::string> said;
    for (const SumpMark& mark : marks) said.push_back(fmt::format("{} {}", mark.name, speech.height(mark.depth_m)));
    const std::string says = fmt::format(words::kLedgerSays, sump.id, listed(said, said.size()));
    const html::Node svg =
        html::add(figure, "svg",
                  {{"viewBox", fmt::format("0 0 {} {}", kWide, kTop + kHigh + 30.0)}, {"class", "ledger"}, {"role", "img"}, {"aria-label", says}});
    html::add(svg, "title", {}, says);
    // between the marks from below: what the height between is for
    double below_m = 0.0;
    int band = 0;
    for (auto mark = marks.rbegin(); mark != marks.rend(); ++mark, ++band) {
        const double from = y_of(below_m), to = y_of(mark->depth_m);
        html::add(svg, "rect",
                  {{"x", html::tenths(kBarLeft)},
                   {"y", html::tenths(to)},
                   {"width", html::tenths(kBarWide)},
                   {"height", html::tenths(std::max(0.0, from - to))},
                   {"class", fmt::format("band{}", std::min(band, 5))}});
        below_m = std::max(below_m, mark->depth_m);
    }
    html::add(svg, "path", {{"d", fmt::format("M{0},{1}V{2}H{3}V{1}", kBarLeft, kTop, kTop + kHigh, kBarLeft + kBarWide)}, {"class", "wall"}});
    std::vector<double> wanted;
    for (const SumpMark& mark : marks) wanted.push_back(y_of(mark.depth_m));
    const std::vector<double> places = apart(wanted);
    for (std::size_t i = 0; i < marks.size(); ++i) {
        const double y = wanted[i], at_y = places[i];
        html::add(svg, "path",
                  {{"d", fmt::format("M{},{}h{}l14,{}h6", html::tenths(kBarLeft - 6.0), html::tenths(y), html::tenths(kBarWide + 12.0),
                                     html::tenths(at_y - y))},
                   {"class", "tick"}});
        html::add(svg, "text", {{"x", html::tenths(kBarLeft + kBarWide + 32.0)}, {"y", html::tenths(at_y + 4.0)}, {"class", "figure"}},
                  fmt::format("{}  {}", speech.height(marks[i].depth_m), marks[i].name));
    }
    html::add(svg, "text", {{"x", html::tenths(kBarLeft + kBarWide / 2.0)}, {"y", html::tenths(kTop + kHigh + 20.0)}, {"class", "name middle"}},
              sump.id);
}

}  // namespace

void add_ledger(html::Node main, const ReportScene& scene) {
    const StateMade& first = scene.first();
    if (first.answer.ledgers.empty()) return;
    const html::Node section = html::section(main, "ledger", words::kLedger);
    html::add(section, "p", {{"class", "note"}}, fmt::format(words::kLedgerNote, first.answer.name));
    const bool stopped = every_pump_stopped(first.answer);
    const Scene one{scene.layout(), first.answer, first.found, first.conditions, scene.speech(), scene.plain};
    const std::vector<Table> tables = sump_tables(one);
    for (std::size_t i = 0; i < first.answer.ledgers.size(); ++i) {
        const settle::SumpLedger& ledger = first.answer.ledgers[i];
        const layout::Vessel& sump = scene.layout().vessels[static_cast<std::size_t>(ledger.vessel)];
        const html::Node both = html::add(section, "div", {{"class", "beside"}});
        const html::Node figure = html::add(both, "figure", {{"class", "chart"}});
        html::add(figure, "figcaption", {}, sump.id);
        add_bar(figure, sump, sump_marks(sump, ledger, scene.speech(), stopped), scene.speech());
        html::table(both, tables[i], sump.id, html::Caption::heard);
    }
}

}  // namespace ebb::cli
