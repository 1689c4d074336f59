#pragma once
// The page of `report` and its sections. A section that has nothing to say of a farm is not there.

#include <string>
#include <vector>

#include "cli/output.h"
#include "cli/report_matter.h"
#include "cli/views/report/chart.h"
#include "cli/views/report/html.h"
#include "cli/views/view.h"

namespace ebb::cli {

/// What the sections speak about.
struct ReportScene {
    const Subject& subject;
    const ReportMatter& matter;
    Painter& painter;
    const Paint& plain;        ///< no colour codes in texts that the page shares with the terminal
    const std::string& asked;  ///< the file the layout was read from
    const netfiles::ReadingsResult* readings = nullptr;

    const layout::Layout& layout() const { return subject.layout; }
    const Speech& speech() const { return subject.speech; }
    const StateMade& first() const { return matter.arrangements.front(); }
};

void write_report(const ReportScene& scene, Output& output);

// ---- the sections, in the order of the page (each in the file named)

void add_glance(html::Node main, const ReportScene& scene);        ///< report_page.cpp
void add_profile(html::Node main, const ReportScene& scene);       ///< report_page.cpp
void add_what_if(html::Node main, const ReportScene& scene);       ///< report_what_if.cpp
void add_balance(html::Node main, const ReportScene& scene);       ///< report_flows.cpp: what each vessel gets, by arrangement
void add_arrangements(html::Node main, const ReportScene& scene);  ///< report_flows.cpp
void add_pumps(html::Node main, const ReportScene& scene);         ///< report_pumps.cpp
void add_courses(html::Node main, const ReportScene& scene);       ///< report_time.cpp
void add_ledger(html::Node main, const ReportScene& scene);        ///< report_ledger.cpp
void add_cut(html::Node main, const ReportScene& scene);           ///< report_risk.cpp
void add_siphons(html::Node main, const ReportScene& scene);       ///< report_risk.cpp
void add_unsure(html::Node main, const ReportScene& scene);        ///< report_risk.cpp
void add_sizing(html::Node main, const ReportScene& scene);        ///< report_pumps.cpp
void add_diagnosis(html::Node main, const ReportScene& scene);     ///< report_diagnosis.cpp
void add_sheet(html::Node main, const ReportScene& scene);         ///< report_sheet.cpp: commissioning
void add_heights(html::Node main, const ReportScene& scene);       ///< report_heights.cpp: setting out
void add_bill(html::Node main, const ReportScene& scene);          ///< report_bill.cpp
void add_safety(html::Node main, const ReportScene& scene);        ///< report_safety.cpp
void add_basis(html::Node main, const ReportScene& scene);         ///< report_page.cpp: what was assumed

/// What the page's script needs.
std::string report_data(const ReportScene& scene);  ///< report_data.cpp

// ---- shared by the sections

/// A list of sentences with their marks.
void add_said(html::Node parent, const std::vector<Said>& said);
/// Remarks on an answer as sentences: targets missed, then what was found, trouble first.
std::vector<Said> said_of(const ReportScene& scene, const StateMade& state);
/// Whether an arrangement is told in full: the first always, the others where that does not make the page too heavy.
bool in_full(const ReportScene& scene, std::size_t arrangement);
/// "arrangement-3": an id that can be linked to, whatever the thing is called.
std::string anchor(const std::string& kind, std::size_t index);

}  // namespace ebb::cli
