#include "cli/survey_run.h"

#include <fmt/format.h>

#include <algorithm>
#include <filesystem>
#include <fstream>
#include <map>
#include <system_error>

#include "cli/messages.h"
#include "cli/patience.h"
#include "cli/session.h"
#include "cli/survey_switches.h"
#include "cli/views/survey_view.h"
#include "cli/words.h"
#include "solver/survey/again.h"
#include "solver/version.h"

namespace ebb::cli {
namespace {

std::size_t at(std::int32_t index) { return static_cast<std::size_t>(index); }

/// The arrangement asked for, else the first; -1: told.
std::int32_t one_arrangement(const layout::Layout& layout, const SurveyRequest& request) {
    const auto chosen = chosen_arrangements(layout, request.common);
    if (!chosen) return -1;
    if (!request.common.arrangements.empty() && chosen->size() > 1) {
        tell("survey switches things in one arrangement: name one, and run it again for another");
        return -1;
    }
    return chosen->front();
}

/// "VB1, VB2 and 7 more", for whoever has not said what to switch.
std::string valves_with_handles(const layout::Layout& layout) {
    std::vector<std::string> names;
    for (const layout::Valve& valve : layout.valves)
        if (!physics::valve_is_one_way(valve.kind)) names.push_back(valve.id);
    return names.empty() ? std::string() : fmt::format("; there are the valves {}", in_few_words(names, 8));
}

/// So many cannot even be numbered.
bool can_be_numbered(std::size_t switches, int at_most_off) {
    constexpr double kMostNumbered = 0x1p62;
    const double all = survey::how_many(switches, at_most_off);
    if (switches <= survey::kMostSwitches && all < kMostNumbered) return true;
    tell(fmt::format("{} switches have {:.1g} combinations, and {} is the most that can be named: name fewer{}", switches, all, survey::kMostSwitches,
                     switches > survey::kMostSwitches ? "" : ", or keep to a few off at once with --at-most-off 3"));
    return false;
}

/// Where the rows of a part are now: as they were named, else beside the part they were moved with.
std::string rows_file(const Part& part) {
    std::error_code ignored;
    if (std::filesystem::exists(part.rows->file, ignored)) return part.rows->file;
    return (std::filesystem::path(part.file).parent_path() / std::filesystem::path(part.rows->file).filename()).string();
}

/// False, with a message, when what is written would replace what is read.
bool keeps_parts(const std::vector<Part>& parts, const Output& output, const char* option) {
    for (const Part& part : parts)
        for (const std::string& file : {part.file, part.rows ? rows_file(part) : part.file}) {
            if (!output.overwrites(file)) continue;
            tell(fmt::format("{} would replace '{}', which is to be merged; name another file", option, file));
            return false;
        }
    return true;
}

/// One file of rows after another, titles once. False: told which of them is not what it was.
bool join_rows(const std::vector<Part>& parts, Output& output) {
    for (const Part& part : parts) {
        const auto& rows = part.rows;
        if (!rows) {
            tell(fmt::format("part {} of {} ('{}') was made without --each: there are no rows to join", part.number, part.question.parts, part.file));
            return false;
        }
        std::ifstream stream(rows_file(part), std::ios::binary);
        if (!stream) {
            tell(fmt::format("the rows of part {} of {} are missing: '{}'", part.number, part.question.parts, rows->file));
            return false;
        }
        constexpr std::size_t kAtOnce = std::size_t{1} << 20U;
        std::string buffer(kAtOnce, '\0');
        Checksum sum;
        bool titles = part.number > 1;  // still to be left out
        while (stream.read(buffer.data(), static_cast<std::streamsize>(buffer.size())), stream.gcount() > 0) {
            std::string_view text(buffer.data(), static_cast<std::size_t>(stream.gcount()));
            sum.add(text);
            if (titles) {
                const std::size_t end = text.find('\n');
                titles = end == std::string_view::npos;
                text.remove_prefix(titles ? text.size() : end + 1);
            }
            output.write(text);
        }
        if (sum.bytes() != rows->bytes || sum.text() != rows->checksum) {
            tell(fmt::format("the rows of part {} of {} ('{}') are not as they were written: {} bytes, {} were", part.number, part.question.parts,
                             rows->file, sum.bytes(), rows->bytes));
            return false;
        }
    }
    output.finish();
    return true;
}

/// Every part there once, whole, and of one question; they are put in order. False: all that is wrong has been told.
bool belong_together(std::vector<Part>& parts) {
    const PartQuestion& asked = parts.front().question;
    bool good = true;
    std::map<std::uint64_t, const Part*> by_number;
    for (const Part& part : parts) {
        if (!(part.question == asked)) {
            tell(fmt::format("'{}' and '{}' are parts of different surveys{}", parts.front().file, part.file,
                             part.question.parts != asked.parts ? fmt::format(": one of {} parts, the other of {}", asked.parts, part.question.parts)
                             : part.question.layout_checksum != asked.layout_checksum ? ": the layout was changed between them"
                             : part.question.version != asked.version
                                 ? fmt::format(": made by versions {} and {}", asked.version, part.question.version)
                                 : std::string()));
            good = false;
            continue;
        }
        const auto [other, is_new] = by_number.emplace(part.number, &part);
        if (!is_new) tell(fmt::format("part {} of {} is there twice: '{}' and '{}'", part.number, asked.parts, other->second->file, part.file));
        const PartRange range =
            part.number >= 1 && part.number <= asked.parts ? range_of_part(part.number, asked.parts, asked.combinations) : PartRange{0, 0};
        const bool in_place = part.first == range.first && part.last == range.last && part.end <= part.last;
        if (!in_place) tell(fmt::format("'{}' is no part of this survey: its combinations are not those of part {}", part.file, part.number));
        const bool whole = part.end == part.last && part.statistics.rows == part.last - part.first;
        if (in_place && !whole)
            tell(fmt::format("part {} of {} ('{}') is not whole: it was broken off after {} of {} combinations", part.number, asked.parts, part.file,
                             grouped(part.statistics.rows), grouped(part.last - part.first)));
        good = good && is_new && in_place && whole;
    }
    std::vector<std::string> missing;
    for (std::uint64_t k = 1; k <= asked.parts && good; ++k)
        if (!by_number.contains(k)) missing.push_back(std::to_string(k));
    if (!missing.empty()) {
        tell(fmt::format("part{} {} of {} {} missing", missing.size() == 1 ? "" : "s", listed(missing, 20), asked.parts,
                         missing.size() == 1 ? "is" : "are"));
        return false;
    }
    std::sort(parts.begin(), parts.end(), [](const Part& a, const Part& b) { return a.number < b.number; });
    return good;
}

/// The request that the parts were made with, and how it is to be shown now.
SurveyRequest request_of(const Part& part, const SurveyRequest& now) {
    const PartQuestion& question = part.question;
    SurveyRequest request = now;
    if (request.common.layout_file.empty()) request.common.layout_file = part.layout_file;
    request.common.arrangements = question.first_taken ? std::vector<std::string>{} : std::vector<std::string>{question.arrangement};
    request.switches.clear();
    for (const std::string& word : question.switches) {
        const std::size_t equals = std::min(word.find('='), word.size());
        request.switches.push_back({word.substr(0, equals), equals < word.size() ? word.substr(equals + 1) : std::string()});
    }
    request.at_most_off = question.at_most_off;
    request.worst = question.worst;
    return request;
}

/// What only makes sense when something is solved.
bool merge_makes_sense(const SurveyRequest& request) {
    const bool asks =
        !request.switches.empty() || request.at_most_off >= 0 || request.parts > 0 || request.worst_was_said || !request.common.arrangements.empty();
    if (asks) tell("--merge takes what was asked from the parts: leave --switch, --arrangement, --at-most-off, --worst and --part away");
    const bool rows = request.common.format == Format::csv;
    if (rows) tell("the rows of all parts are joined with --each FILE");
    return !asks && !rows;
}

}  // namespace

std::optional<SurveyAsked> survey_asked(const netfiles::ReadResult& read, const SurveyRequest& request) {
    const layout::Layout& layout = read.layout;
    const std::int32_t arrangement = one_arrangement(layout, request);
    if (arrangement < 0) return std::nullopt;
    if (request.switches.empty()) {
        tell("say what is to be switched on and off: --switch \"VB1 VB2\"" + valves_with_handles(layout));
        return std::nullopt;
    }
    survey::Question question{.arrangement = layout::conditions_of(layout, arrangement),
                              .at_start_levels = layout.arrangements[at(arrangement)].at_start_levels,
                              .switches = {},
                              .at_most_off = request.at_most_off};
    const auto switches = named_switches(layout, question.arrangement, request);
    if (!switches) return std::nullopt;
    question.switches = *switches;
    question.at_most_off = request.at_most_off < 0 ? -1 : std::min(request.at_most_off, static_cast<int>(switches->size()));
    if (!can_be_numbered(switches->size(), question.at_most_off)) return std::nullopt;
    settle::Options options;
    options.bands = options.ledgers = false;
    survey::Survey survey(layout, question, options);
    survey::Counter counter(layout, question, survey.targets(), request.worst);
    return SurveyAsked{.read = read,
                       .arrangement = layout.arrangements[at(arrangement)].name,
                       .first_taken = request.common.arrangements.empty() && layout.arrangements.size() > 1,
                       .survey = std::move(survey),
                       .question = std::move(question),
                       .counter = std::move(counter)};
}

std::vector<std::string> switch_words(const layout::Layout& layout, const survey::Question& question) {
    std::vector<std::string> words;
    for (const survey::Switch& one : question.switches) {
        words.push_back(switch_id(layout, one));
        if (one.thing.kind == layout::Kind::standpipe)
            words.back() += '=' + layout.standpipes[at(one.thing.index)].inserts[at(one.other_insert)].name;
    }
    return words;
}

ExitStatus show_survey(const SurveyAsked& asked, const survey::Statistics& statistics, const SurveyRequest& request, Output& output) {
    const Subject subject = subject_of(request.common, asked.read, 1);
    if (request.common.format != Format::csv) {
        survey::Again again;
        {
            Patience patience(1, "once more");
            again = survey::solve_again(
                asked.read.layout, asked.question, statistics, {}, [&](double share) { patience.tell_share(share); }, patience.stop());
        }
        const SurveyScene scene{.subject = subject,
                                .arrangement = asked.arrangement,
                                .question = asked.question,
                                .combinations = asked.survey.combinations(),
                                .targets = asked.survey.targets(),
                                .counter = asked.counter,
                                .statistics = statistics,
                                .again = again,
                                .first_taken = asked.first_taken};
        if (request.common.format == Format::json)
            write_survey_json(scene, output);
        else
            output.write(survey_text(scene));
        if (!again.agrees()) {
            tell("combinations solved once more do not agree with the survey: a fault of this program, please report the layout");
            return ExitStatus::no_solution;
        }
    }
    const auto times = [&](settle::State state) { return statistics.states.at(static_cast<std::size_t>(state)).times; };
    if (times(settle::State::no_solution) + times(settle::State::not_run) > 0) return ExitStatus::no_solution;
    const bool missed = std::any_of(statistics.targets.begin(), statistics.targets.end(), [](const auto& target) { return target.missed.times > 0; });
    return missed && request.common.strict ? ExitStatus::target_missed : ExitStatus::fine;
}

ExitStatus merge_survey(const SurveyRequest& now, Output& output) {
    if (!merge_makes_sense(now)) return ExitStatus::command_line;
    std::vector<Part> parts;
    for (const std::string& file : now.merge) {
        std::optional<Part> part = read_part_file(file);
        if (part) parts.push_back(std::move(*part));
    }
    if (parts.size() < now.merge.size()) return ExitStatus::file;
    if (!belong_together(parts)) return ExitStatus::file;
    const PartQuestion& question = parts.front().question;
    if (question.version != kVersion) {
        tell(fmt::format("the parts were made by version {}, this is {}", question.version, kVersion));
        return ExitStatus::file;
    }
    const SurveyRequest request = request_of(parts.front(), now);
    const netfiles::ReadResult read = netfiles::read_layout(request.common.layout_file);
    if (!read.good()) {
        tell_problems(read.problems, read.files);
        return ExitStatus::file;
    }
    if (checksum_of(read) != question.layout_checksum) {
        tell(fmt::format("'{}' is not what the parts were made of: it was changed since, or is another file", request.common.layout_file));
        return ExitStatus::file;
    }
    const std::optional<SurveyAsked> asked = survey_asked(read, request);
    if (!asked || !output_is_safe(output, read) || !file_is_safe("--each", now.each_file, read)) return ExitStatus::command_line;
    survey::Statistics statistics = asked->counter.none();
    for (const Part& part : parts) {
        if (!statistics.fits(part.statistics)) {
            tell(fmt::format("'{}' is no part of this survey: it is of other vessels or pumps", part.file));
            return ExitStatus::file;
        }
        statistics.merge(part.statistics);
    }
    if (!keeps_parts(parts, output, "--output")) return ExitStatus::command_line;
    if (!now.each_file.empty()) {
        Output rows(now.each_file);
        if (!keeps_parts(parts, rows, "--each")) return ExitStatus::command_line;
        if (!join_rows(parts, rows)) return ExitStatus::file;
    }
    return show_survey(*asked, statistics, request, output);
}

}  // namespace ebb::cli
