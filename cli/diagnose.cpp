// `diagnose`: which faults explain what was read, and what to read next.

#include "cli/diagnose.h"

#include <fmt/format.h>

#include <algorithm>
#include <filesystem>
#include <thread>

#include "cli/commands.h"
#include "cli/diagnose_work.h"
#include "cli/messages.h"
#include "cli/patience.h"
#include "cli/session.h"
#include "cli/views/calibrate_view.h"
#include "cli/views/diagnose_view.h"
#include "cli/views/sheet.h"
#include "cli/write_layout.h"
#include "netfiles/readings.h"
#include "solver/diagnose/calibrate.h"
#include "solver/diagnose/diagnosis.h"

namespace ebb::cli {
namespace {

/// What is asked that does not go together; empty when all does.
std::string wrong_together(const DiagnoseRequest& request) {
    const bool blank = request.sheet || !request.blank_file.empty();
    if (blank && (request.calibrate || !request.write_file.empty()))
        return "--sheet and --blank are for before anything is read, --calibrate and --write for after";
    if (!blank && request.readings_file.empty())
        return "the readings file is missing: ebbwright diagnose LAYOUT READINGS. A blank one to fill in comes from --blank FILE, a sheet to print "
               "from --sheet";
    if (!request.write_file.empty() && !request.calibrate) return "--write goes with --calibrate: a diagnosis changes nothing in the layout";
    if (!blank && !request.common.arrangements.empty())
        return "--arrangement goes with --sheet and --blank: readings say themselves in which arrangement they were taken";
    if (blank && !request.readings_file.empty()) return "--sheet and --blank take no readings file";
    if (request.sheet && request.common.format != Format::text) return "--sheet is text to print; --blank FILE writes a file for programs";
    if (!request.blank_file.empty() && request.blank_file == request.common.output_file) return "--blank and --output name the same file";
    if (!request.write_file.empty() && request.write_file == request.common.output_file) return "--write and --output name the same file";
    return {};
}

unsigned threads_of(const DiagnoseRequest& request) {
    return request.threads > 0 ? request.threads : std::max(1U, std::thread::hardware_concurrency());
}

/// What every answer to readings is told with.
struct Frame {
    Frame(const DiagnoseRequest& request, const netfiles::ReadResult& read, const netfiles::ReadingsResult& taken,
          const diagnose::Signatures& signatures)
        : subject(subject_of(request.common, read, taken.readings.visits.size())), readings_files(file_names(taken.files)),
          words(subject, taken.readings.visits, signatures.conditions()) {}
    Frame(const Frame&) = delete;  // the words refer to the subject
    Frame& operator=(const Frame&) = delete;

    const Subject subject;
    const std::vector<std::string> readings_files;
    const DiagnoseWords words;
};

void write_answer(const DiagnoseScene& scene, Format format, Output& output) {
    switch (format) {
        case Format::json: write_diagnose_json(scene, output); return;
        case Format::csv: write_diagnose_csv(scene, output); return;
        case Format::text: break;
    }
    output.write(diagnose_text(scene));
}

ExitStatus status_of(const diagnose::Diagnosis& diagnosis, bool strict) {
    if (diagnosis.interrupted) return ExitStatus::interrupted;
    if (diagnosis.verdict == diagnose::Verdict::no_solution) return ExitStatus::no_solution;
    return strict && diagnosis.verdict != diagnose::Verdict::nothing_needed ? ExitStatus::target_missed : ExitStatus::fine;
}

ExitStatus find_faults(const DiagnoseRequest& request, const netfiles::ReadResult& read, const netfiles::ReadingsResult& taken, Output& output) {
    std::unique_ptr<DiagnosisMade> made;
    {
        Patience patience(1, "faults");
        diagnose::DiagnosisOptions options;
        options.pairs = !request.one;
        options.stop = patience.stop();
        options.progress = [&patience](double share) { patience.tell_share(share); };
        made = make_diagnosis(read.layout, taken.readings, request.exact, threads_of(request), options);
    }
    const diagnose::Diagnosis& diagnosis = made->diagnosis;
    if (diagnosis.interrupted && diagnosis.explanations.empty()) {
        tell("interrupted before anything was found");
        return ExitStatus::interrupted;
    }
    const Frame frame(request, read, taken, made->signatures);
    write_answer({.subject = frame.subject,
                  .readings_name = taken.name,
                  .readings_files = frame.readings_files,
                  .readings = taken.readings,
                  .signatures = made->signatures,
                  .diagnosis = diagnosis,
                  .words = frame.words,
                  .exact = request.exact,
                  .unknowns = made->doubt.size()},
                 request.common.format, output);
    if (diagnosis.interrupted) tell("interrupted: what is shown rests on the faults that were solved until then");
    return status_of(diagnosis, request.common.strict);
}

void write_answer(const CalibrationScene& scene, Format format, Output& output) {
    switch (format) {
        case Format::json: write_calibration_json(scene, output); return;
        case Format::csv: write_calibration_csv(scene, output); return;
        case Format::text: break;
    }
    output.write(calibration_text(scene));
}

/// The layout with what was fitted put in. False when it would not be valid, which has then been told.
bool write_fitted(const netfiles::ReadResult& read, const diagnose::Readings& readings, const diagnose::Calibration& calibration,
                  const std::string& file) {
    netfiles::Rewrite rewrite(read);
    for (const diagnose::FittedCoefficient& one : calibration.coefficients) {
        if (one.told != diagnose::Told::yes) continue;
        for (const std::int32_t thing : one.things) switch (one.what) {
                case diagnose::Coefficient::roughness: rewrite.set_pipe_roughness(thing, one.fitted); break;
                case diagnose::Coefficient::hazen_williams: rewrite.set_pipe_hazen_williams(thing, one.fitted); break;
                case diagnose::Coefficient::wear: rewrite.set_pump_wear(thing, one.fitted); break;
                case diagnose::Coefficient::opening:
                    for (const std::int32_t visit : one.visits)
                        rewrite.set_valve_opening(readings.visits[static_cast<std::size_t>(visit)].arrangement, thing, one.fitted);
                    break;
                case diagnose::Coefficient::filter_load:
                    for (const std::int32_t visit : one.visits)
                        rewrite.set_filter_load(readings.visits[static_cast<std::size_t>(visit)].arrangement, thing, one.fitted);
                    break;
            }
    }
    return write_layout(rewrite, file);
}

ExitStatus fit_coefficients(const DiagnoseRequest& request, const netfiles::ReadResult& read, const netfiles::ReadingsResult& taken, Output& output) {
    std::vector<diagnose::Observable> observables;
    for (const diagnose::Reading& reading : taken.readings.readings)
        if (std::find(observables.begin(), observables.end(), reading.what) == observables.end()) observables.push_back(reading.what);
    diagnose::Signatures signatures(read.layout, taken.readings.visits, observables, {}, threads_of(request));
    diagnose::Calibration calibration;
    {
        Patience patience(1, "rounds");
        diagnose::CalibrationOptions options;
        options.stop = patience.stop();
        options.progress = [&patience](double share) { patience.tell_share(share); };
        calibration = diagnose::calibrate(signatures, taken.readings.readings, options);
    }
    using Outcome = diagnose::Calibration::Outcome;
    const bool writes = !request.write_file.empty() && calibration.outcome == Outcome::fitted;
    if (!request.write_file.empty() && !writes) tell("--write wrote nothing: no coefficient was fitted");
    const Frame frame(request, read, taken, signatures);
    write_answer(CalibrationScene{.subject = frame.subject,
                                  .readings_name = taken.name,
                                  .readings_files = frame.readings_files,
                                  .readings = taken.readings,
                                  .calibration = calibration,
                                  .words = frame.words,
                                  .written = writes ? request.write_file : std::string()},
                 request.common.format, output);
    if (writes && !write_fitted(read, taken.readings, calibration, request.write_file)) return ExitStatus::no_solution;
    if (calibration.outcome == Outcome::stopped) return ExitStatus::interrupted;
    if (calibration.outcome == Outcome::no_solution) return ExitStatus::no_solution;
    return request.common.strict && !calibration.fits ? ExitStatus::target_missed : ExitStatus::fine;
}

/// A sheet to print as the result, a file to fill in beside it.
ExitStatus write_blanks(const DiagnoseRequest& request, const netfiles::ReadResult& read, Output& output) {
    const auto named = chosen_arrangements(read.layout, request.common);
    if (!named) return ExitStatus::command_line;
    const std::vector<std::int32_t> arrangements = request.common.arrangements.empty() ? std::vector<std::int32_t>{0} : *named;
    const Subject subject = subject_of(request.common, read, arrangements.size());
    if (!request.blank_file.empty()) {
        if (!file_is_safe("--blank", request.blank_file, read)) return ExitStatus::command_line;
        std::error_code ignored;
        if (std::filesystem::exists(request.blank_file, ignored) && !std::filesystem::is_empty(request.blank_file, ignored) &&
            std::filesystem::is_regular_file(request.blank_file, ignored)) {
            tell(fmt::format("'{}' is there already, and may hold readings: name another file", request.blank_file));
            return ExitStatus::command_line;
        }
        Output blank(request.blank_file);
        blank.write(blank_readings(subject, arrangements));
        blank.finish();
    }
    if (request.sheet) output.write(readings_sheet(subject, arrangements));
    return ExitStatus::fine;
}

}  // namespace

ExitStatus run_diagnose(const DiagnoseRequest& request, Output& output) {
    if (const std::string wrong = wrong_together(request); !wrong.empty()) {
        tell(wrong);
        return ExitStatus::command_line;
    }
    const netfiles::ReadResult read = netfiles::read_layout(request.common.layout_file);
    if (!read.good()) {
        tell_problems(read.problems, read.files);
        return ExitStatus::file;
    }
    if (!output_is_safe(output, read) || !layout_can_be_written(request.write_file, read)) return ExitStatus::command_line;
    if (request.sheet || !request.blank_file.empty()) return write_blanks(request, read, output);
    const netfiles::ReadingsResult taken = netfiles::read_readings(request.readings_file, read.layout);
    if (!taken.good()) {
        tell_problems(taken.problems, taken.files);
        return ExitStatus::file;
    }
    std::error_code ignored;
    const bool writes_over = !request.write_file.empty() && std::filesystem::equivalent(request.write_file, request.readings_file, ignored);
    if (writes_over || output.overwrites(request.readings_file)) {
        tell(fmt::format("{} would replace '{}', which was read; name another file", writes_over ? "--write" : "--output", request.readings_file));
        return ExitStatus::command_line;
    }
    return request.calibrate ? fit_coefficients(request, read, taken, output) : find_faults(request, read, taken, output);
}

}  // namespace ebb::cli
