#include "cli/survey_run.h"

#include <fmt/format.h>

#include <algorithm>
#include <filesystem>
#include <fstream>
#include <map>
#include <system_error>
#include <utility>

#include "cli/messages.h"
#include "cli/patience.h"
#include "cli/session.h"
#include "cli/survey_switches.h"
#include "cli/views/survey_view.h"
#include "cli/words.h"
#include "solver/survey/again.h"

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
    if (switches > survey::kMostSwitches) {
        tell(fmt::format("{} things are to be switched, and {} is the most: name fewer", switches, survey::kMostSwitches));
        return false;
    }
    const double all = survey::how_many(switches, at_most_off);
    if (all < kMostNumbered) return true;
    tell(
        fmt::format("{} switches have more combinations than can be numbered ({:.2g}): name fewer, or keep to a few off at once with --at-most-off 3",
                    switches, all));
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

/// "part 3 of 5", for messages.
std::string part_words(const Part& part) { return fmt::format("part {} of {}", part.number, part.question.parts); }

/// Every part has its rows, and as many bytes of them as were written. False: told. Before anything is put out.
bool rows_are_there(const std::vector<Part>& parts) {
    for (const Part& part : parts) {
        if (!part.rows) {
            tell(fmt::format("{} ('{}') was made without --each: there are no rows to join", part_words(part), part.file));
            return false;
        }
        const std::string file = rows_file(part);
        std::error_code error;
        const std::filesystem::file_status status = std::filesystem::status(file, error);
        if (!std::filesystem::exists(status)) {
            tell(fmt::format("the rows of {} are missing: '{}'", part_words(part), part.rows->file));
            return false;
        }
        if (!std::filesystem::is_regular_file(status)) {
            tell(fmt::format("the rows of {} are to be in '{}', which is {} and no file", part_words(part), file,
                             std::filesystem::is_directory(status) ? "a folder" : "a device or a pipe"));
            return false;
        }
        const std::uintmax_t bytes = std::filesystem::file_size(file, error);
        if (error || bytes == part.rows->bytes) continue;
        tell(fmt::format("the rows of {} ('{}') are {}: {} bytes were written, there are {}. Run that part again", part_words(part), file,
                         bytes < part.rows->bytes ? "cut short" : "more than were written", grouped(part.rows->bytes), grouped(bytes)));
        return false;
    }
    return true;
}

/// One file of rows after another, titles once. False: told which of them is not what it was.
bool join_rows(const std::vector<Part>& parts, Output& output) {
    if (!rows_are_there(parts)) return false;
    constexpr std::size_t kAtOnce = std::size_t{1} << 20U;
    std::string buffer(kAtOnce, '\0');
    for (const Part& part : parts) {
        std::ifstream stream(rows_file(part), std::ios::binary);
        Checksum sum;
        bool titles = part.number > 1;  // still to be left out
        while (stream && sum.bytes() <= part.rows->bytes) {
            stream.read(buffer.data(), static_cast<std::streamsize>(buffer.size()));
            std::string_view text(buffer.data(), static_cast<std::size_t>(stream.gcount()));
            sum.add(text);
            if (titles) {
                const std::size_t end = text.find('\n');
                titles = end == std::string_view::npos;
                text.remove_prefix(titles ? text.size() : end + 1);
            }
            output.write(text);
        }
        if (sum.bytes() != part.rows->bytes || sum.text() != part.rows->checksum) {
            tell(fmt::format("the rows of {} ('{}') are not as they were written: something in them was changed. Run that part again",
                             part_words(part), rows_file(part)));
            return false;
        }
    }
    return true;
}

/// The part is whole, and holds the combinations of its number. False: told.
bool is_whole(const Part& part) {
    const PartQuestion& asked = part.question;
    const PartRange range =
        part.number >= 1 && part.number <= asked.parts ? range_of_part(part.number, asked.parts, asked.combinations) : PartRange{0, 0};
    if (part.first != range.first || part.last != range.last || part.end > part.last) {
        tell(fmt::format("'{}' is no part of this survey: its combinations are not those of part {}", part.file, part.number));
        return false;
    }
    if (part.end == part.last && part.statistics.rows == part.last - part.first) return true;
    tell(fmt::format("{} ('{}') is not whole: it was broken off after {} of {} combinations", part_words(part), part.file,
                     grouped(part.statistics.rows), grouped(part.last - part.first)));
    return false;
}

/// Every part there once, whole, and of one question; they are put in order. False: all that is wrong has been told.
bool belong_together(std::vector<Part>& parts) {
    const PartQuestion& asked = parts.front().question;
    bool good = true;
    std::map<std::uint64_t, const Part*> by_number;
    for (const Part& part : parts) {
        if (!(part.question == asked)) {
            tell(fmt::format("'{}' and '{}' are parts of different surveys: {}", parts.front().file, part.file,
                             what_differs(parts.front(), part, "one of", "the other of")));
            good = false;
            continue;
        }
        const auto [other, is_new] = by_number.emplace(part.number, &part);
        if (!is_new) tell(fmt::format("{} is there twice: '{}' and '{}'", part_words(part), other->second->file, part.file));
        good = is_whole(part) && is_new && good;
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
    for (const std::string& word : question.switches)
        for (SwitchSaid& said : read_switches(word).said) request.switches.push_back(std::move(said));
    request.at_most_off = question.at_most_off;
    request.worst = question.worst;
    return request;
}

/// What only makes sense when something is solved.
bool merge_makes_sense(const SurveyRequest& request) {
    const bool asks =
        !request.switches.empty() || request.at_most_off >= 0 || request.parts > 0 || request.worst_was_said || !request.common.arrangements.empty();
    if (asks) tell("--merge takes what was asked from the parts: leave --switch, --arrangement, --at-most-off, --worst and --part away");
    return !asks && rows_once(request);
}

}  // namespace

std::string what_differs(const Part& one, const Part& other, const char* of_one, const char* of_other) {
    const PartQuestion &a = one.question, &b = other.question;
    const auto differ = [&](const std::string& first, const std::string& second) {
        return fmt::format("{} {}, {} {}", of_one, first, of_other, second);
    };
    if (a.layout_checksum != b.layout_checksum && one.layout_file != other.layout_file)
        return differ("'" + one.layout_file + "'", "'" + other.layout_file + "'");
    if (a.layout_checksum != b.layout_checksum) return fmt::format("'{}' was changed between them, or is another file of that name", one.layout_file);
    if (a.parts != b.parts) return differ(fmt::format("{} parts", a.parts), std::to_string(b.parts));
    if (a.arrangement != b.arrangement) return differ("the arrangement '" + a.arrangement + "'", "'" + b.arrangement + "'");
    if (a.switches != b.switches) return fmt::format("one switches {}, the other {}", in_few_words(a.switches, 6), in_few_words(b.switches, 6));
    if (a.at_most_off != b.at_most_off) return "--at-most-off was not the same";
    return a.worst != b.worst ? "--worst was not the same" : "--arrangement was given for one of them only";
}

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
        const bool insert = one.thing.kind == layout::Kind::standpipe;
        words.push_back(
            switch_word(switch_id(layout, one), insert ? layout.standpipes[at(one.thing.index)].inserts[at(one.other_insert)].name : std::string()));
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

bool rows_are_apart(const Output& rows, const SurveyRequest& request, const Output& output) {
    if (!rows.same_file_as(output)) return true;
    tell(request.common.output_file.empty()
             ? fmt::format("--each would write to '{}', where the results go; name another file", request.each_file)
             : fmt::format("--each '{}' and --output '{}' are the same file; name two", request.each_file, request.common.output_file));
    return false;
}

bool rows_once(const SurveyRequest& request) {
    if (request.each_file.empty() || request.common.format != Format::csv) return true;
    tell("--format csv and --each are the same rows; ask for one of them");
    return false;
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
    const SurveyRequest request = request_of(parts.front(), now);
    const netfiles::ReadResult read = netfiles::read_layout(request.common.layout_file);
    if (!read.good()) {
        tell_problems(read.problems, read.files);
        if (now.common.layout_file.empty())
            tell(fmt::format(
                "'{}' is what the parts call their layout; where it is called something else from here, name it: ebbwright survey LAYOUT --merge ...",
                request.common.layout_file));
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
    if (now.common.format == Format::csv && !join_rows(parts, output)) return ExitStatus::file;
    if (!now.each_file.empty()) {
        Output rows(now.each_file);
        if (!keeps_parts(parts, rows, "--each") || !rows_are_apart(rows, now, output)) return ExitStatus::command_line;
        if (!join_rows(parts, rows)) return ExitStatus::file;
        rows.finish();
    }
    return show_survey(*asked, statistics, request, output);
}

}  // namespace ebb::cli
