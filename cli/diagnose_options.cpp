// The command line of `diagnose`.

#include <CLI/CLI.hpp>

#include "cli/diagnose.h"
#include "cli/number_option.h"

namespace ebb::cli {

void add_diagnose_options(CLI::App& command, DiagnoseRequest& request) {
    command.add_option("readings", request.readings_file, "the readings file: what was read with tape, bucket, watch and gauge")
        ->option_text("READINGS");
    command.get_option("--arrangement")
        ->description("with --sheet and --blank: the arrangement to be read (else the first of the layout); may be given again for more");
    command.get_option("--strict")->description("end with 5 when the readings are not those of a sound farm");
    command.add_flag("--exact", request.exact, "trust the layout's figures to the last digit (else what they leave open is allowed for)");
    command.add_flag("--one", request.one, "only one thing wrong at a time, never two");
    add_threads(command, request.threads);
    command.add_flag("--sheet", request.sheet, "no diagnosis: a blank sheet to print, with everything that can be read, in the order of the layout");
    command.add_option("--blank", request.blank_file, "no diagnosis: write a readings file to FILE in which only the figures are missing")
        ->option_text("FILE");
    command.add_flag("--calibrate", request.calibrate,
                     "fit coefficients (roughness, openings, wear, filter load) to the readings instead of looking for faults");
    command.add_option("--write", request.write_file, "with --calibrate: write the layout with the fitted coefficients to FILE")->option_text("FILE");
}

}  // namespace ebb::cli
