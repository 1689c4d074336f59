#pragma once
// The answer of `pumps` as text, JSON and CSV; and the curves for plotting.

#include <cstdint>
#include <string>

#include "cli/output.h"
#include "cli/views/view.h"
#include "solver/choose/pump_choice.h"

namespace ebb::cli {

struct PumpsScene {
    const Subject& subject;
    const choose::PumpsAnswer& answer;
};

std::string pumps_text(const PumpsScene& scene);
void write_pumps_json(const PumpsScene& scene, Output& output);
void write_pumps_csv(const PumpsScene& scene, Output& output);

/// Points of every system curve and of every candidate's pump curve, as it runs in each arrangement.
void write_curves(const PumpsScene& scene, const std::string& file);

}  // namespace ebb::cli
