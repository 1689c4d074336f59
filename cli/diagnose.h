#pragma once
// `diagnose`: what was asked for besides what every command takes.

#include <string>

#include "cli/request.h"

namespace CLI {
class App;
}

namespace ebb::cli {

struct DiagnoseRequest {
    Request common;
    std::string readings_file;
    bool exact = false;      ///< the layout is trusted to the last digit
    bool one = false;        ///< single faults only
    unsigned threads = 0;    ///< 0: as many as there are cores
    bool sheet = false;      ///< a blank sheet to print
    std::string blank_file;  ///< a blank readings file; empty: none
    bool calibrate = false;
    std::string write_file;  ///< of --calibrate; empty: none
};

void add_diagnose_options(CLI::App& command, DiagnoseRequest& request);

}  // namespace ebb::cli
