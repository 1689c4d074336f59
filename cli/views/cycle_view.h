#pragma once
// A view of `cycle` turns the courses of routines into something to look at, one after the other.

#include <memory>
#include <string>
#include <vector>

#include "cli/cycle_findings.h"
#include "cli/output.h"
#include "cli/views/view.h"
#include "solver/time/answer.h"
#include "solver/time/plan.h"

namespace ebb::cli {

/// One routine, run.
struct CycleRun {
    const time::Plan& plan;
    const time::Course& course;
    const std::vector<Finding>& found;       ///< trouble first
    const std::vector<TimeTarget>& targets;  ///< of the layout, held against the course
    bool all_events = false;
};

class CycleView {
public:
    virtual ~CycleView() = default;
    virtual void begin() = 0;
    virtual void show(const CycleRun& run) = 0;
    virtual void end() = 0;
};

std::unique_ptr<CycleView> make_cycle_json(const Subject& subject, Output& output);
std::unique_ptr<CycleView> make_cycle_csv(const Subject& subject, Output& output);
std::unique_ptr<CycleView> make_cycle_text(const Subject& subject, Output& output);

}  // namespace ebb::cli
