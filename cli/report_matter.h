#pragma once
// Everything the report shows, solved before any of it is written: the work of the other commands, side by side on the cores.

#include <cstdint>
#include <memory>
#include <optional>
#include <stop_token>
#include <string>
#include <vector>

#include "cli/cycle_findings.h"
#include "cli/diagnose_work.h"
#include "cli/findings.h"
#include "cli/report.h"
#include "cli/views/view.h"
#include "solver/choose/pump_choice.h"
#include "solver/choose/pump_workers.h"
#include "solver/choose/sizing_answer.h"
#include "solver/settle/answer.h"
#include "solver/survey/question.h"
#include "solver/survey/uncertain.h"
#include "solver/time/plan.h"
#include "solver/time/power_cut.h"
#include "solver/time/siphon_window.h"

namespace ebb::cli {

/// An arrangement or a combination, solved.
struct StateMade {
    layout::Conditions conditions;
    settle::Answer answer;
    std::vector<Finding> found;
};

/// A routine, followed.
struct CourseMade {
    time::Plan plan;
    time::Course course;
    std::vector<Finding> found;
    std::vector<TimeTarget> targets;
};

/// A pump with what the farm asks of it in some arrangements.
struct PumpMade {
    std::int32_t pump = -1;
    std::vector<choose::Duty> duties;  ///< with their system curves
};

/// What can be switched in the page: combinations of the first arrangement, solved beforehand.
struct WhatIfMade {
    survey::Question question;  ///< its switches; the first `whole` of them in every combination
    std::size_t whole = 0;
    std::uint64_t drawn = 0;          ///< what is off in the arrangement itself, as bits
    std::vector<std::uint64_t> held;  ///< what is off in each combination held
    std::vector<StateMade> states;    ///< one for each
    double all = 0.0;                 ///< how many there would be
};

struct ReportMatter {
    std::vector<StateMade> arrangements;  ///< as chosen; the first is the one the page begins with
    WhatIfMade what_if;
    std::vector<CourseMade> courses;
    std::vector<PumpMade> pumps;
    std::optional<time::PowerCutAnswer> cut;        ///< of the first arrangement
    std::optional<survey::UncertainAnswer> unsure;  ///< of the first arrangement
    std::vector<time::SiphonWindow> windows;        ///< of the first of the siphons, with --whole of all
    std::optional<choose::SizingAnswer> sizing;     ///< with --whole, where pipes are to be chosen
    std::unique_ptr<DiagnosisMade> diagnosis;       ///< with --readings
    bool stopped = false;                           ///< nothing of it is to be shown
};

struct MatterWanted {
    std::vector<std::int32_t> arrangements;
    std::vector<survey::Switch> switches;          ///< empty: those that seem to matter most
    const diagnose::Readings* readings = nullptr;  ///< null: none
    bool whole = false;
    unsigned threads = 1;
};

/// `layout` outlives what is made of it.
ReportMatter make_matter(const layout::Layout& layout, const Speech& speech, const MatterWanted& wanted, const choose::Watch& watch);

/// The switches a page begins with where none are named: handles of what feeds beds, tiers, troughs, tanks and the rest, in that order, and pumps.
std::vector<survey::Switch> switches_that_matter(const layout::Layout& layout, const layout::Conditions& arrangement);

}  // namespace ebb::cli
