// What readings point to: the explanations as bars, and what to read next.

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "cli/views/diagnose_view.h"
#include "cli/views/report/report_page.h"
#include "cli/views/report/report_words.h"
#include "cli/words.h"

namespace ebb::cli {
namespace {

constexpr std::size_t kShown = 8;

RowPlot bars_of(const DiagnoseScene& said) {
    constexpr double kPercent = 100.0, kTrace = 0.005;
    RowPlot plot;
    plot.x = {std::string(words::kDiagnosisAxis), 0.0, kPercent};
    std::vector<std::string> all;
    for (const diagnose::Tie& tie : said.diagnosis.ties) {
        if (plot.rows.size() >= kShown || (!plot.rows.empty() && tie.probability < kTrace)) break;
        const std::string number = fmt::format("{}", plot.rows.size() + 1);
        const std::string share = Speech::share(tie.probability);
        const std::string what = explanation_sentence(said, said.diagnosis.explanations[tie.explanations.front()]);
        plot.rows.push_back({.name = number,
                             .after = share,
                             .bands = {{0.0, kPercent * tie.probability, fmt::format("{}: {}", what, share), 0, false}},
                             .points = {}});
        all.push_back(fmt::format("{}: {}", what, share));
    }
    plot.says = fmt::format(words::kDiagnosisSays, listed(all, all.size()));
    return plot;
}

Table explanations_table(const DiagnoseScene& said) {
    Table table({{"", Align::right}, {words::kColLikely}, {words::kColExplanation, Align::left}});
    for (std::size_t i = 0; i < std::min(kShown, said.diagnosis.ties.size()); ++i) {
        const diagnose::Tie& tie = said.diagnosis.ties[i];
        for (std::size_t k = 0; k < std::min<std::size_t>(3, tie.explanations.size()); ++k)
            table.add({k == 0 ? fmt::format("{}.", i + 1) : std::string(), k == 0 ? Speech::share(tie.probability) : std::string("or"),
                       explanation_sentence(said, said.diagnosis.explanations[tie.explanations[k]])});
    }
    return table;
}

Table next_table(const DiagnoseScene& said) {
    Table table({{"", Align::right}, {words::kColReadNext, Align::left}, {words::kColSettles}, {words::kCol1Says}, {words::kCol2Says}});
    for (std::size_t n = 0; n < said.diagnosis.next.size(); ++n) {
        const diagnose::NextReading& one = said.diagnosis.next[n];
        const diagnose::Observable& what = said.signatures.observables()[one.observable];
        const auto says = [&](std::size_t tie) {
            if (tie >= said.diagnosis.ties.size()) return std::string("-");
            const std::size_t e = said.diagnosis.ties[tie].explanations.front();
            return e < one.predicted.size() ? said.words.value(what, one.predicted[e].value, one.predicted[e].spread) : std::string("-");
        };
        table.add({fmt::format("{}.", n + 1), said.words.way_to_read(what), Speech::share(one.separates), says(0), says(1)});
    }
    return table;
}

}  // namespace

void add_diagnosis(html::Node main, const ReportScene& scene) {
    if (!scene.matter.diagnosis) return;
    const DiagnosisMade& made = *scene.matter.diagnosis;
    const DiagnoseWords said_with(scene.subject, scene.readings->readings.visits, made.signatures.conditions());
    const std::vector<std::string> no_files;
    const DiagnoseScene said{.subject = scene.subject,
                             .readings_name = scene.readings->name,
                             .readings_files = no_files,
                             .readings = scene.readings->readings,
                             .signatures = made.signatures,
                             .diagnosis = made.diagnosis,
                             .words = said_with,
                             .exact = false,
                             .unknowns = made.doubt.size()};
    const html::Node section = html::section(main, "diagnosis", words::kDiagnosis);
    std::vector<Said> lines;
    const bool well = made.diagnosis.verdict == diagnose::Verdict::nothing_needed;
    for (const std::string& line : diagnose_verdict(said)) lines.push_back({well ? Ink::good : Ink::trouble, line});
    for (const std::string& line : readings_doubts(said)) lines.push_back({Ink::doubt, line});
    add_said(section, lines);
    if (made.diagnosis.ties.empty()) return;
    scene.painter.draw(section, bars_of(said), words::kDiagnosisCaption);
    html::table(section, explanations_table(said), words::kDiagnosisCaption, html::Caption::heard);
    html::table(section, next_table(said), words::kNextCaption);
}

}  // namespace ebb::cli
