#pragma once
// `--if` for a person and for a program.

#include <string>

#include "cli/views/question_page.h"
#include "solver/time/what_if.h"

namespace ebb::cli {

/// One answer; `asked` is the question as written: "VB3 shuts".
struct IfScene {
    const std::string& asked;
    const time::WhatIfAnswer& answer;
    double lasts_s = 0.0;  ///< that was followed at the most
};

void show_if(const IfScene& scene, QuestionPage& page);

}  // namespace ebb::cli
