#pragma once
// The parts of the text of one course. Each returns "" when there is nothing of its kind to say; each begins with an empty line.

#include <string>
#include <vector>

#include "cli/cycle_findings.h"
#include "cli/views/page.h"
#include "cli/views/view.h"
#include "solver/time/answer.h"
#include "solver/time/plan.h"

namespace ebb::cli {

/// One course, for the sections to speak about.
struct CourseScene {
    const Subject& subject;
    const time::Plan& plan;
    const time::Course& course;
    const std::vector<Finding>& found;
    const std::vector<TimeTarget>& targets;
    const Paint& paint;
    const layout::Layout& layout() const { return subject.layout; }
    const Speech& speech() const { return subject.speech; }
};

// The same by themselves, for other pages than a plain text; without rows or lines where there is nothing of their kind.
std::vector<std::string> bed_lines(const CourseScene& scene);
Table beds_table(const CourseScene& scene);
Table depths_table(const CourseScene& scene);
Table runs_table(const CourseScene& scene);
Table water_table(const CourseScene& scene);
std::string held_sentence(const CourseScene& scene);  ///< what the farm holds at the start and at the end

std::string bed_sentences(const CourseScene& scene);   ///< "bed B3: fills in 11 min 40 s, ..." of each bed, like ones together
std::string beds_section(const CourseScene& scene);    ///< the same as a table, and what the drains must take
std::string depths_section(const CourseScene& scene);  ///< vessels: least and greatest depth, freeboard, turnover
std::string strips_section(const CourseScene& scene);  ///< levels against time
std::string runs_section(const CourseScene& scene);    ///< pumps: energy, running, dry
std::string water_section(const CourseScene& scene);   ///< what came in, what went out, what was missing
std::string events_section(const CourseScene& scene, bool all);

/// Whether the cycle repeats, and how often; or why it does not.
std::string repeat_sentence(const time::Course& course);

}  // namespace ebb::cli
