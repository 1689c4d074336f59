// `check`: everything wrong with the file; then, when it can be solved, what looks doubtful in it and in its answers.

#include <fmt/format.h>

#include <algorithm>
#include <unordered_map>

#include "cli/commands.h"
#include "cli/inspection.h"
#include "cli/messages.h"
#include "cli/patience.h"
#include "cli/session.h"
#include "cli/views/csv.h"
#include "cli/views/json_writer.h"
#include "cli/views/page.h"
#include "cli/views/speech.h"
#include "cli/words.h"
#include "solver/layout/validate.h"
#include "solver/settle/farm.h"
#include "solver/version.h"

namespace ebb::cli {
namespace {

/// What the views of `check` show.
struct Report {
    std::string name;
    std::vector<std::string> files;
    std::vector<Remark> remarks;
    std::vector<std::string> fine;
    std::vector<ProfileLine> profile;
};

const char* severity_of(const Remark& remark) {
    if (remark.problem.severity == layout::Severity::error) {
        return "error";
    }
    return remark.weight == Weight::trouble ? "trouble" : "doubt";
}

void write_json(const Report& report, Output& output) {
    JsonWriter json(output);
    json.begin_object();
    json.entry("ebbwright", kVersion);
    json.entry("layout", report.name);
    json.key("problems");
    json.begin_array();
    for (const Remark& remark : report.remarks) {
        json.new_line();
        json.begin_object();
        json.entry("severity", severity_of(remark));
        json.entry("code", remark.problem.code);
        json.entry("about", remark.problem.about);
        json.entry("says", remark.problem.says);
        json.entry("advice", remark.problem.advice);
        json.key("place");
        write_place(json, report.files, remark.problem.place);
        json.key("other_place");
        write_place(json, report.files, remark.problem.other_place);
        json.key("arrangements");
        json.begin_array();
        for (const std::string& arrangement : remark.arrangements) {
            json.value(arrangement);
        }
        json.end_array();
        json.end_object();
    }
    json.end_array();
    json.new_line();
    json.key("fine");
    json.begin_array();
    for (const std::string& sentence : report.fine) {
        json.new_line();
        json.value(sentence);
    }
    json.end_array();
    json.new_line();
    json.key("levels");
    json.begin_array();
    for (const ProfileLine& line : report.profile) {
        json.new_line();
        json.begin_object();
        json.entry("elevation_m", line.elevation_m);
        json.entry("about", line.about);
        json.entry("what", line.sentence());
        json.end_object();
    }
    json.end_array();
    json.end_object();
    json.finish();
}

void write_csv(const Report& report, Output& output) {
    output.write("severity,code,about,file,line,column,arrangements,says,advice\n");
    for (const Remark& remark : report.remarks) {
        const layout::Problem& problem = remark.problem;
        const bool placed = problem.place.file >= 0 && static_cast<std::size_t>(problem.place.file) < report.files.size();
        std::string arrangements;
        for (const std::string& name : remark.arrangements) {
            arrangements += (arrangements.empty() ? "" : "; ") + name;
        }
        output.write(fmt::format("{},{},{},{},{},{},{},{},{}\n", severity_of(remark), problem.code, csv_cell(problem.about),
                                 placed ? csv_cell(report.files[static_cast<std::size_t>(problem.place.file)]) : "",
                                 placed ? std::to_string(problem.place.line) : "", placed ? std::to_string(problem.place.column) : "",
                                 csv_cell(arrangements), csv_cell(problem.says), csv_cell(problem.advice)));
    }
}

/// Lines of the profile that say the same of several things at one height.
struct ProfileGroup {
    std::string level, what;
    std::vector<std::string> about, where;
};

std::vector<ProfileGroup> grouped(const std::vector<ProfileLine>& profile, const Speech& speech) {
    std::vector<ProfileGroup> groups;
    std::unordered_map<std::string, std::size_t> known;
    for (const ProfileLine& line : profile) {
        const std::string level = speech.level(line.elevation_m);
        const auto [place, is_new] = known.emplace(level + '|' + line.what, groups.size());
        if (is_new) {
            groups.push_back({level, line.what, {}, {}});
        }
        ProfileGroup& group = groups[place->second];
        group.about.push_back(line.about);
        if (!line.where.empty() && (group.where.empty() || group.where.back() != line.where)) {
            group.where.push_back(line.where);
        }
    }
    return groups;
}

/// Remarks that say the same kind of thing of several things in the same arrangements: the first in full, the others by name.
struct RemarkGroup {
    const Remark* first = nullptr;
    std::vector<std::string> others;
};

std::vector<RemarkGroup> grouped(const std::vector<Remark>& remarks) {
    std::vector<RemarkGroup> groups;
    for (const Remark& remark : remarks) {
        const Remark* last = groups.empty() ? nullptr : groups.back().first;
        const bool alike = last != nullptr && !remark.arrangements.empty() && last->problem.code == remark.problem.code &&
                           last->weight == remark.weight && last->arrangements == remark.arrangements && last->problem.about != remark.problem.about;
        if (alike) {
            groups.back().others.push_back(remark.problem.about);
        } else {
            groups.push_back({&remark, {}});
        }
    }
    return groups;
}

std::string remark_text(const Report& report, const RemarkGroup& group, const Paint& paint) {
    constexpr std::size_t kNamed = 3;
    const Remark& remark = *group.first;
    const layout::Problem& problem = remark.problem;
    const bool trouble = remark.weight == Weight::trouble;
    constexpr std::size_t kOthers = 8;
    std::string says = with_full_stop(problem.says + (group.others.empty() ? "" : "; likewise " + in_few_words(group.others, kOthers)));
    if (!problem.advice.empty()) {
        std::string advice = with_full_stop(problem.advice);
        advice.front() = advice.front() >= 'a' && advice.front() <= 'z' ? static_cast<char>(advice.front() - 'a' + 'A') : advice.front();
        says += " " + advice;
    }
    std::string where;
    if (problem.place.file >= 0 && static_cast<std::size_t>(problem.place.file) < report.files.size()) {
        where = fmt::format("{}:{}", report.files[static_cast<std::size_t>(problem.place.file)], problem.place.line);
    }
    if (!remark.arrangements.empty()) {
        where += (where.empty() ? "in " : ", in ") + quoted_list(remark.arrangements, kNamed);
    }
    return paint(trouble ? Ink::trouble : Ink::doubt, wrapped(trouble ? "! " : "? ", says)) +
           (where.empty() ? std::string() : paint(Ink::quiet, wrapped("    ", where)));
}

std::string profile_text(const Report& report, const Speech& speech, const Paint& paint) {
    constexpr std::size_t kShown = 400;
    constexpr std::size_t kNamed = 4;
    if (report.profile.empty()) {
        return {};
    }
    Table table({{"elevation"}, {"", Align::left}, {"from the top down", Align::left}});
    const std::vector<ProfileGroup> groups = grouped(report.profile, speech);
    for (std::size_t i = 0; i < std::min(kShown, groups.size()); ++i) {
        const ProfileGroup& group = groups[i];
        const std::string where = in_few_words(group.where, kNamed);
        table.add({group.level, in_few_words(group.about, kNamed), where.empty() ? group.what : group.what + " " + where});
    }
    std::string text = "\n" + table.text(paint);
    if (groups.size() > kShown) {
        text += fmt::format("  and {} more: --format json lists them all.\n", groups.size() - kShown);
    }
    return text;
}

void write_text(const Report& report, const Speech& speech, bool colour, Output& output) {
    const Paint paint(colour);
    const auto troubles = static_cast<std::size_t>(
        std::count_if(report.remarks.begin(), report.remarks.end(), [](const Remark& remark) { return remark.weight == Weight::trouble; }));
    const std::size_t doubts = report.remarks.size() - troubles;
    output.write(paint(Ink::title, report.name.empty() ? "A layout without a name" : report.name) + '\n');
    if (report.remarks.empty()) {
        output.write(paint(Ink::good, "The file is right, and nothing in it looks doubtful.") + '\n');
    } else {
        output.write(fmt::format("The file can be solved. {}, {}.\n\n",
                                 troubles == 0 ? "No trouble" : counted(troubles, "trouble (!)", "troubles (!)"),
                                 doubts == 0 ? "no doubts" : counted(doubts, "doubt (?)", "doubts (?)")));
    }
    for (const RemarkGroup& group : grouped(report.remarks)) {
        output.write(remark_text(report, group, paint));
    }
    output.write("\n" + paint(Ink::title, "Looked at and found fine") + '\n');
    for (const std::string& sentence : report.fine) {
        output.write(wrapped("  - ", sentence));
    }
    output.write(profile_text(report, speech, paint));
}

void write_report(const Report& report, const Request& request, const Speech& speech, Output& output) {
    switch (request.format) {
        case Format::json: write_json(report, output); return;
        case Format::csv: write_csv(report, output); return;
        case Format::text: write_text(report, speech, request.colour, output); return;
    }
}

/// A file that cannot be solved: the messages go to the person; a program that asked for JSON or CSV gets them as such too.
ExitStatus report_errors(const netfiles::ReadResult& read, const Request& request, Output& output) {
    tell_problems(read.problems, read.files);
    if (request.format != Format::text) {
        Report report{read.layout.name, file_names(read.files), {}, {}, {}};
        for (const layout::Problem& problem : read.problems) {
            report.remarks.push_back({Weight::trouble, problem, {}});
        }
        write_report(report, request, Speech(layout::UnitSystem::si), output);
    }
    return ExitStatus::file;
}

}  // namespace

ExitStatus run_check(const Request& request, Output& output) {
    const netfiles::ReadResult read = netfiles::read_layout(request.layout_file);
    if (!output_is_safe(output, read)) {
        return ExitStatus::command_line;
    }
    if (!read.good()) {
        return report_errors(read, request, output);
    }
    const auto chosen = chosen_arrangements(read.layout, request);
    if (!chosen) {
        return ExitStatus::command_line;
    }
    const Speech speech(units_of(request, read.layout));
    Inspection inspection(read.layout, speech);
    inspection.add_doubts(layout::doubts(read.layout));

    settle::Farm farm(read.layout);
    bool unsolved = false;
    bool missed = false;
    std::size_t done = 0;
    Patience patience(chosen->size());
    for (const std::int32_t arrangement : *chosen) {
        if (patience.wants_end(done)) {
            break;
        }
        ++done;
        const settle::Answer answer = farm.solve(arrangement);
        unsolved = unsolved || answer.state == settle::State::no_solution || answer.state == settle::State::not_run;
        missed = missed || targets_missed(answer) > 0;
        inspection.add_answer(answer);
    }
    write_report({read.layout.name, file_names(read.files), inspection.remarks(), inspection.fine(), profile_of(read.layout)}, request, speech,
                 output);
    if (done < chosen->size()) {
        tell(fmt::format("interrupted: {} of {} arrangements were looked at", done, chosen->size()));
        return ExitStatus::interrupted;
    }
    if (unsolved) {
        return ExitStatus::no_solution;
    }
    return missed && request.strict ? ExitStatus::target_missed : ExitStatus::fine;
}

}  // namespace ebb::cli
