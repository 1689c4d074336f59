// The page as a whole: its head, what is to be seen at a glance, the drawing, and what everything rests on.

#include "cli/views/report/report_page.h"

#include <fmt/format.h>

#include <algorithm>

#include "cli/views/report/profile.h"
#include "cli/views/report/report_words.h"
#include "cli/views/sections.h"
#include "cli/words.h"
#include "solver/version.h"

namespace ebb::cli {
namespace {

/// Headings of the sections that are there, as links.
void add_contents(html::Node nav, html::Node main) {
    html::add(nav, "h2", {{"class", "unseen"}}, words::kContents);
    const html::Node list = html::add(nav, "ul");
    for (const html::Node section : main.children("section")) {
        const std::string link = std::string("#") + section.attribute("id").value();
        html::add(html::add(list, "li"), "a", {{"href", link}}, section.child("h2").text().get());
    }
}

}  // namespace

std::string anchor(const std::string& kind, std::size_t index) { return fmt::format("{}-{}", kind, index + 1); }

bool in_full(const ReportScene& scene, std::size_t arrangement) {
    constexpr std::size_t kMostRows = 8000;
    return arrangement == 0 || scene.matter.arrangements.size() * (scene.layout().pipes.size() + scene.layout().vessels.size()) <= kMostRows;
}

void add_said(html::Node parent, const std::vector<Said>& said) {
    if (said.empty()) return;
    const html::Node list = html::add(parent, "ul", {{"class", "said"}});
    for (const Said& one : said) {
        html::Node item = html::add(list, "li");
        if (*html::class_of(one.ink) != '\0') item.append_attribute("class").set_value(html::class_of(one.ink));
        html::mark(item, one.ink);
        html::text(item, one.sentence);
    }
}

std::vector<Said> said_of(const ReportScene& scene, const StateMade& state) {
    std::vector<Said> said;
    const std::string first = headline(state.answer, state.found, scene.speech());
    said.push_back({wants_attention(state.answer, state.found) ? Ink::trouble : Ink::good, with_full_stop(first)});
    const auto add = [&](Ink ink, const std::string& sentence) {
        if (first.find(sentence) == std::string::npos) said.push_back({ink, with_full_stop(sentence)});
    };
    for (const settle::Target& target : state.answer.targets)
        if (is_missed(state.answer, target)) add(Ink::trouble, sentence_of(target, scene.speech(), state.answer.rests_on_label));
    for (const Finding& finding : state.found) add(finding.weight == Weight::trouble ? Ink::trouble : Ink::doubt, finding.says);
    return said;
}

void add_glance(html::Node main, const ReportScene& scene) {
    const html::Node section = html::section(main, "glance", words::kGlance);
    const auto& all = scene.matter.arrangements;
    const auto wrong = std::count_if(all.begin(), all.end(), [](const StateMade& one) { return wants_attention(one.answer, one.found); });
    const std::string counts = counted(all.size(), words::kColArrangement, words::kArrangementsMany);
    html::add(section, "p", {{"class", "lead"}},
              wrong > 0         ? fmt::format(words::kGlanceWrong, counts, wrong)
              : all.size() == 1 ? std::string(words::kGlanceFineOne)
                                : fmt::format(words::kGlanceFine, counts));
    Table table({{words::kColArrangement, Align::left}, {words::kColTargetsMet}, {words::kColWhatMattersMost, Align::left}});
    for (const StateMade& one : all) {
        const std::size_t asked = targets_asked(one.answer);
        table.add({one.answer.name, asked == 0 ? std::string("-") : fmt::format("{} of {}", asked - targets_missed(one.answer), asked),
                   headline(one.answer, one.found, scene.speech())},
                  wants_attention(one.answer, one.found) ? Ink::trouble : Ink::plain);
    }
    const html::Node made = html::table(section, table, words::kGlance, html::Caption::heard);
    std::size_t i = 0;
    for (const html::Node row : made.child("tbody").children("tr")) {  // each name leads to the arrangement
        const html::Node cell = row.child("th");
        html::Node name = cell.last_child();
        html::add(cell, "a", {{"href", "#" + anchor("arrangement", i++)}}, name.value());
        html::Node(cell).remove_child(name);
    }
}

void add_profile(html::Node main, const ReportScene& scene) {
    const html::Node section = html::section(main, "profile", words::kProfile);
    html::add(section, "p", {{"class", "note"}}, words::kProfileNote);
    html::add(section, "a", {{"class", "skip"}, {"href", "#what-if"}}, words::kSkipDrawing);  // every thing in it is a stop of the Tab key
    draw_profile(section, {scene.layout(), scene.first().answer, scene.first().conditions, scene.first().found, scene.speech(),
                           fmt::format(words::kStated, scene.first().answer.name)});
}

void add_basis(html::Node main, const ReportScene& scene) {
    const html::Node section = html::section(main, "basis", words::kBasis);
    const Table table = assumptions_table(scene.layout(), scene.speech());
    if (table.empty())
        html::add(section, "p", {}, words::kBasisNone);
    else
        html::table(section, table, words::kBasis, html::Caption::heard);
}

void write_report(const ReportScene& scene, Output& output) {
    pugi::xml_document document;
    const html::Node body = document.append_child("body");
    html::add(body, "a", {{"class", "skip"}, {"href", "#main"}}, words::kSkip);
    const std::string name = scene.layout().name.empty() ? std::string(words::kNoName) : scene.layout().name;
    const html::Node header = html::add(body, "header");
    html::add(header, "h1", {}, name);
    html::add(header, "p", {{"class", "note"}}, fmt::format(words::kMadeOf, kVersion, scene.asked));
    html::add(html::add(header, "noscript"), "p", {{"class", "note"}}, words::kNoScript);
    const html::Node nav = html::add(body, "nav", {{"aria-label", std::string(words::kContents)}});
    const html::Node main = html::add(body, "main", {{"id", "main"}});
    for (const auto& add :
         {&add_glance, &add_profile, &add_what_if, &add_balance, &add_pumps, &add_courses, &add_ledger, &add_cut, &add_siphons, &add_unsure,
          &add_sizing, &add_diagnosis, &add_sheet, &add_heights, &add_bill, &add_safety, &add_arrangements, &add_basis})
        add(main, scene);
    add_contents(nav, main);
    output.write(html::written({.title = name,
                                .styles = {assets::page_css(), assets::profile_css()},
                                .scripts = {assets::page_js(), assets::profile_js()},
                                .data = report_data(scene)},
                               body));
}

}  // namespace ebb::cli
