#include "cli/views/question_change.h"

#include <fmt/format.h>

#include <cmath>

#include "cli/views/question_words.h"
#include "cli/views/speech.h"
#include "cli/words.h"

namespace ebb::cli {
namespace {

using time::ChangeEnd;
using time::ChangeOver;
using time::ChangeOverWanted;
using time::ChangeStep;

constexpr double kChanged_m = 0.01;  ///< a level that moved by more is worth its line
constexpr double kHalfPercent = 0.005;

const std::string& name_at(const layout::Layout& layout, std::int32_t arrangement) {
    return layout.arrangements[static_cast<std::size_t>(arrangement)].name;
}

/// "shut VB1", "set VX-over to 45 %", "run PP at 70 %", "fit the short insert of OB1".
std::string move_words(const time::Move& move) {
    const layout::Setting& setting = move.setting;
    const std::string& id = setting.about_id;
    switch (setting.act) {
        case layout::Act::open: return "open " + id;
        case layout::Act::close: return "shut " + id;
        case layout::Act::throttle: return fmt::format("set {} to {}", id, Speech::share(setting.value));
        case layout::Act::run:
            return setting.value >= 1.0 - kHalfPercent ? "run " + id : fmt::format("run {} at {}", id, Speech::share(setting.value));
        case layout::Act::stop: return "stop " + id;
        case layout::Act::fit: return fmt::format("fit insert '{}' to {}", setting.insert, id);
        case layout::Act::load:
            return setting.value <= 0.0 ? fmt::format("clean {}", id) : fmt::format("let {} load to {}", id, Speech::share(setting.value));
    }
    return id;
}

std::string moves_words(const ChangeOver& answer, const std::vector<std::int32_t>& moves) {
    std::vector<std::string> words;
    for (const std::int32_t move : moves) {
        words.push_back(move_words(answer.moves[static_cast<std::size_t>(move)]));
    }
    return listed(words, words.size());
}

/// "FS 494 to 525 mm, PS ...": sumps, and what else changed.
std::string levels_after(const ChangeStep& step, const Subject& subject) {
    std::vector<std::string> words;
    std::size_t others = 0;
    for (std::size_t v = 0; v < step.after_depth_m.size(); ++v) {
        const double before = step.before_depth_m[v];
        const double after = step.after_depth_m[v];
        const bool changed = std::abs(after - before) > kChanged_m;
        if (changed) {
            words.push_back(fmt::format("{} {} to {}", subject.layout.vessels[v].id, subject.speech.height(before), subject.speech.height(after)));
        } else if (subject.layout.vessels[v].kind == layout::VesselKind::sump) {
            words.push_back(fmt::format("{} stays at {}", subject.layout.vessels[v].id, subject.speech.height(after)));
        } else {
            ++others;
        }
    }
    return words.empty() ? "no level changes" : listed(words, words.size());
}

std::string call_words(const time::Call& call, const Speech& speech) {
    return call.about.kind == layout::Kind::pump
               ? fmt::format("{} of water over what bares the intake of {}", speech.height(call.margin_m), call.about_id)
               : fmt::format("{} stands {} below its rim", call.about_id, speech.height(call.margin_m));
}

std::string wait_words(const ChangeStep& step, const ChangeOver& answer, double longest_wait_s) {
    if (answer.need_no_waiting) {
        return step.wait_s < 1.0 ? "nothing to wait for" : fmt::format("at rest after {}", Speech::duration(step.wait_s));
    }
    if (!step.still) {
        return fmt::format("wait: not at rest after {}", Speech::duration(longest_wait_s));
    }
    return step.wait_s < 1.0 ? "no need to wait" : fmt::format("wait {}", Speech::duration(step.wait_s));
}

std::string steps_text(const ChangeOverWanted& wanted, const ChangeOver& answer, const Subject& subject) {
    std::string text;
    const time::Call* closest = nullptr;
    std::size_t closest_step = 0;
    for (std::size_t s = 0; s < answer.steps.size(); ++s) {
        const ChangeStep& step = answer.steps[s];
        text +=
            wrapped(fmt::format("  {}. ", s + 1), fmt::format("{}; {}. {}.", capital(moves_words(answer, step.moves)),
                                                              wait_words(step, answer, wanted.longest_wait_s), capital(levels_after(step, subject))));
        if (closest == nullptr || step.closest.margin_m < closest->margin_m) {
            closest = &step.closest;
            closest_step = s + 1;
        }
    }
    if (closest != nullptr) {
        text += wrapped("  ", fmt::format("The closest call, in step {}: {}.", closest_step, call_words(*closest, subject.speech)));
    }
    return text;
}

std::string end_words(const ChangeOverWanted& wanted, const ChangeOver& answer, const Subject& subject) {
    const std::string& to = name_at(subject.layout, wanted.to);
    if (answer.settled_depth_m.empty()) {
        return fmt::format("'{}' has no settled levels to compare the end with.", to);
    }
    if (answer.ends_as_settled) {
        return fmt::format("It ends at the settled levels of '{}'.", to);
    }
    std::vector<std::string> words;
    for (const std::int32_t v : answer.elsewhere) {
        const auto i = static_cast<std::size_t>(v);
        words.push_back(fmt::format("{} {} instead of {}", subject.layout.vessels[i].id, subject.speech.height(answer.steps.back().after_depth_m[i]),
                                    subject.speech.height(answer.settled_depth_m[i])));
    }
    return fmt::format("It ends elsewhere than '{}' does from the water drawn: {}. Water parted on the way stays where it is.", to,
                       listed(words, words.size()));
}

std::string trouble_words(const ChangeOver& answer, const Subject& subject) {
    const time::ChangeTrouble& trouble = answer.trouble;
    if (trouble.moves.empty()) {
        return "it could not be followed";
    }
    const std::string after = trouble.after.empty() ? "to begin with" : "after " + moves_words(answer, trouble.after) + " one at a time";
    const std::string what =
        trouble.spills ? fmt::format("{} runs over its rim", trouble.about_id) : fmt::format("the intake of {} goes bare", trouble.about_id);
    const std::string spilled = trouble.spills ? fmt::format(", {} in all", subject.speech.volume(trouble.spilled_m3)) : "";
    return fmt::format("the order that goes furthest: {}, then {}; {} later {}{}", after, moves_words(answer, trouble.moves),
                       Speech::duration(trouble.after_s), what, spilled);
}

void show_text(const ChangeOverWanted& wanted, const ChangeOver& answer, QuestionPage& page) {
    const Subject& subject = page.subject();
    const Paint& paint = page.paint();
    std::string text =
        "\n" + paint(Ink::title, fmt::format("From '{}' to '{}'", name_at(subject.layout, wanted.from), name_at(subject.layout, wanted.to))) + '\n';
    const auto trouble = [&](const std::string& says) { text += paint(Ink::trouble, wrapped("! ", with_full_stop(says))); };
    switch (answer.end) {
        case ChangeEnd::nothing_to_do: text += "  Nothing has to be moved: the two are the same.\n"; break;
        case ChangeEnd::cannot_begin:
            trouble(fmt::format("'{}' has no settled state to begin from: {}", name_at(subject.layout, wanted.from), answer.why));
            break;
        case ChangeEnd::none:
            trouble(fmt::format("There is no order of the {} in which nothing spills and no intake goes bare, not even two at a time",
                                counted(answer.moves.size(), "move", "moves")));
            text += wrapped("  ", with_full_stop(capital(trouble_words(answer, subject))));
            break;
        case ChangeEnd::gave_up:
            trouble(fmt::format("No order was found in {} tries; with {} not every order was tried", answer.runs,
                                counted(answer.moves.size(), "move", "moves")));
            text += wrapped("  ", with_full_stop(capital(trouble_words(answer, subject))));
            break;
        case ChangeEnd::found: {
            const std::string how = answer.in_pairs ? "some made at the same moment" : "one at a time";
            const std::string waiting = answer.need_no_waiting ? "a minute apart is enough" : "wait after each until it is at rest";
            text += paint(Ink::good, wrapped("  ", fmt::format("{}, {}, {}: nothing spills and no intake goes bare.",
                                                               counted(answer.moves.size(), "move", "moves"), how, waiting)));
            text += steps_text(wanted, answer, subject) + wrapped("  ", end_words(wanted, answer, subject));
            break;
        }
        case ChangeEnd::cancelled:
        case ChangeEnd::not_run: text += "  Stopped before it was done.\n"; break;
    }
    page.text(text);
}

void write_moves(JsonWriter& json, std::string_view key, const ChangeOver& answer, const std::vector<std::int32_t>& moves) {
    json.key(key);
    json.begin_array();
    for (const std::int32_t index : moves) {
        const time::Move& move = answer.moves[static_cast<std::size_t>(index)];
        json.begin_object();
        json.entry("about", move.setting.about_id);
        json.entry("does", move_words(move));
        json.entry("to", move.setting.value);
        json.entry("from", move.was);
        json.end_object();
    }
    json.end_array();
}

void write_steps(JsonWriter& json, const ChangeOver& answer, const layout::Layout& layout) {
    json.key("steps");
    json.begin_array();
    for (const ChangeStep& step : answer.steps) {
        json.new_line();
        json.begin_object();
        write_moves(json, "moves", answer, step.moves);
        json.entry("wait_s", step.wait_s);
        json.entry("still", step.still);
        json.entry("closest", step.closest.about_id);
        json.entry("closest_margin_m", step.closest.margin_m);
        json.key("vessels");
        json.begin_array();
        for (std::size_t v = 0; v < layout.vessels.size(); ++v) {
            json.begin_object();
            json.entry("id", layout.vessels[v].id);
            json.entry("depth_m", step.after_depth_m[v]);
            json.end_object();
        }
        json.end_array();
        json.end_object();
    }
    json.end_array();
}

void show_json(const ChangeOverWanted& wanted, const ChangeOver& answer, QuestionPage& page) {
    const layout::Layout& layout = page.subject().layout;
    JsonWriter& json = page.json();
    json.new_line();
    json.begin_object();
    json.entry("asks", "change");
    json.entry("from", name_at(layout, wanted.from));
    json.entry("to", name_at(layout, wanted.to));
    json.entry("end", time::name_of(answer.end));
    json.entry("why", answer.why);
    json.entry("moves", answer.moves.size());
    json.entry("runs", answer.runs);
    json.entry("in_pairs", answer.in_pairs);
    json.entry("need_no_waiting", answer.need_no_waiting);
    write_steps(json, answer, layout);
    json.entry("ends_as_settled", answer.ends_as_settled);
    write_ids(json, "elsewhere", layout, answer.elsewhere);
    if (!answer.trouble.moves.empty() && answer.end != ChangeEnd::found) {
        json.key("trouble");
        json.begin_object();
        write_moves(json, "after", answer, answer.trouble.after);
        write_moves(json, "moves", answer, answer.trouble.moves);
        json.entry("about", answer.trouble.about_id);
        json.entry("spills", answer.trouble.spills);
        json.entry("after_s", answer.trouble.after_s);
        json.entry("spilled_m3", answer.trouble.spilled_m3);
        json.end_object();
    }
    json.end_object();
}

void show_csv(const ChangeOverWanted& wanted, const ChangeOver& answer, QuestionPage& page) {
    const layout::Layout& layout = page.subject().layout;
    const std::string question = fmt::format("change from {} to {}", name_at(layout, wanted.from), name_at(layout, wanted.to));
    page.word({question, "", "end", ""}, time::name_of(answer.end));
    for (std::size_t s = 0; s < answer.steps.size(); ++s) {
        const ChangeStep& step = answer.steps[s];
        const std::string number = fmt::format("step-{}", s + 1);
        page.word({question, number, "moves", ""}, moves_words(answer, step.moves));
        page.figure({question, number, "wait", "s"}, step.wait_s);
        page.figure({question, number, "closest-margin", "m"}, step.closest.margin_m);
        for (std::size_t v = 0; v < layout.vessels.size(); ++v) {
            page.figure({question, layout.vessels[v].id, number + "-depth", "m"}, step.after_depth_m[v]);
        }
    }
}

}  // namespace

void show_change(const ChangeOverWanted& wanted, const ChangeOver& answer, QuestionPage& page) {
    switch (page.format()) {
        case Format::text: return show_text(wanted, answer, page);
        case Format::json: return show_json(wanted, answer, page);
        case Format::csv: return show_csv(wanted, answer, page);
    }
}

}  // namespace ebb::cli
