#pragma once
// A course in JSON: the keys of the contract of `cycle`, in its order, and ours beside them. Also for the answers to questions, which
// are made of courses.

#include "cli/views/json_writer.h"
#include "cli/views/view.h"
#include "solver/time/answer.h"
#include "solver/time/plan.h"

namespace ebb::cli {

/// Writes the keys of `course` into the object that is open: "lasts_s" to "counts". The caller has written what it is called.
void write_course(JsonWriter& json, const Subject& subject, const time::Plan& plan, const time::Course& course);

/// Only the list "events", with the sentence of each.
void write_events(JsonWriter& json, const Subject& subject, const time::Plan& plan, const time::Course& course);

}  // namespace ebb::cli
