#pragma once
// One function per command. Each reads the layout, asks the solver, and hands the answers to a view.

#include "cli/balance.h"
#include "cli/cycle.h"
#include "cli/diagnose.h"
#include "cli/output.h"
#include "cli/pipes.h"
#include "cli/pumps.h"
#include "cli/report.h"
#include "cli/request.h"
#include "cli/survey.h"

namespace ebb::cli {

/// Everything wrong with the file, what looks doubtful, what was found fine, and the levels in elevation order.
ExitStatus run_check(const Request& request, Output& output);

/// Flows, levels, turnover and pump duty of every arrangement.
ExitStatus run_flows(const Request& request, Output& output);

/// Routines followed in time: fill, hold and drain times, levels, spills, energy, events; or a question in one word.
ExitStatus run_cycle(const CycleRequest& request, Output& output);

/// The duty needed of each pump; candidates held against it and ranked by what they cost over the years; what a pump that stops leaves unmet.
ExitStatus run_pumps(const PumpsRequest& request, Output& output);

/// The cheapest sizes of the pipes marked to be chosen, what is proved of them, and what more to spare would cost.
ExitStatus run_pipes(const PipesRequest& request, Output& output);

/// Openings of valves that give each outlet its target with the least throttling, and what to see while setting them.
ExitStatus run_balance(const BalanceRequest& request, Output& output);

/// Every combination of a few things on and off: what each vessel gets at least and at most, what each pump does, where targets are missed.
ExitStatus run_survey(const SurveyRequest& request, Output& output);

/// Which faults explain readings taken at the farm, and what to read next; or coefficients fitted to them; or a blank sheet.
ExitStatus run_diagnose(const DiagnoseRequest& request, Output& output);

/// One page in HTML, complete in itself, with what the other commands find out.
ExitStatus run_report(const ReportRequest& request, Output& output);

/// Pipe series, fittings and valves that come with the program, and the pump models of a file.
ExitStatus run_catalogue(const Request& request, Output& output);

}  // namespace ebb::cli
