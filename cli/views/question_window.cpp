#include "cli/views/question_window.h"

#include <fmt/format.h>

#include <cmath>

#include "cli/views/question_words.h"
#include "cli/views/speech.h"
#include "cli/words.h"

namespace ebb::cli {
namespace {

using time::InflowIs;
using time::SiphonWindow;
using time::WindowEnd;

const layout::Siphon& siphon_of(const SiphonWindow& window, const layout::Layout& layout) {
    return layout.siphons[static_cast<std::size_t>(window.siphon)];
}

const std::string& arrangement_of(const SiphonWindow& window, const layout::Layout& layout) {
    return layout.arrangements[static_cast<std::size_t>(window.arrangement)].name;
}

/// The window in a sentence.
std::string window_sentence(const SiphonWindow& window, const std::string& id, const Speech& speech) {
    if (window.lower == WindowEnd::spills_first) {
        return fmt::format("{} never starts: the bed runs over its rim before enough water stands over the crest", id);
    }
    if (window.lower != WindowEnd::found) {
        return fmt::format("{} never starts, whatever the inflow", id);
    }
    const std::string starts = speech.flow(window.starts_from_m3_s);
    if (window.upper == WindowEnd::never) {
        return fmt::format("{} starts from {} on, but never breaks, however little runs in: look at its break height and where its pipe ends", id,
                           starts);
    }
    if (window.upper == WindowEnd::always) {
        return fmt::format("{} starts from {} on, and breaks with any inflow", id, starts);
    }
    if (window.empty) {
        return fmt::format("{} has no window: it needs {} to start, and with more than {} it never breaks", id, starts,
                           speech.flow(window.breaks_to_m3_s));
    }
    return fmt::format("{} starts and breaks with an inflow from {} to {}", id, starts, speech.flow(window.breaks_to_m3_s));
}

/// Where the bed stands in the window, and what that means.
std::string inflow_sentence(const SiphonWindow& window, const layout::Layout& layout, const Speech& speech) {
    const std::string bed = vessel_id(layout, window.vessel);
    const std::string where = fmt::format("in '{}'", arrangement_of(window, layout));
    const std::string flow = speech.flow(window.inflow_m3_s);
    switch (window.inflow_is) {
        case InflowIs::nothing: return fmt::format("{} gets no water {}", bed, where);
        case InflowIs::too_little: return fmt::format("{} gets {} {}: too little, it dribbles over the crest and never starts", bed, flow, where);
        case InflowIs::too_much: return fmt::format("{} gets {} {}: too much, once started it runs for ever", bed, flow, where);
        case InflowIs::in_window: return fmt::format("{} gets {} {}: within the window", bed, flow, where);
        case InflowIs::unknown: break;
    }
    return fmt::format("what {} gets {} cannot be said", bed, where);
}

constexpr const char* kRaiseUpper =
    "a longer outlet leg (a lower end), fewer bends, or a wider pipe behind it carries more and lets it break at more inflow";
constexpr const char* kLowerLower = "a smaller bore starts with less (and carries less)";

/// What to change; empty when nothing needs to be.
std::string advice(const SiphonWindow& window, const Speech& speech) {
    if (window.lower == WindowEnd::spills_first) {
        return "A lower crest, or a smaller bore, which needs less water over it, lets it start below the rim.";
    }
    if (window.empty) {
        return fmt::format("To open a window: {}; {}.", kRaiseUpper, kLowerLower);
    }
    switch (window.inflow_is) {
        case InflowIs::too_little:
            return fmt::format("Give the bed more than {}, or fit a smaller bore: {}.", speech.flow(window.starts_from_m3_s), kLowerLower);
        case InflowIs::too_much:
            return fmt::format("Give the bed less than {}; or a larger bore; {}; a higher break height ends it sooner.",
                               speech.flow(window.breaks_to_m3_s), kRaiseUpper);
        case InflowIs::in_window:
            if (window.inflow_m3_s < window.surely_starts_from_m3_s) {
                return fmt::format("{} may be too little to start it on site: a little more, or a smaller bore, makes it surer.",
                                   speech.flow(window.inflow_m3_s));
            }
            return {};
        default: return {};
    }
}

std::string table(const SiphonWindow& window, const Speech& speech, const Paint& paint) {
    Table rows({{"inflow"}, {"fills in"}, {"drains in"}, {"every"}, {"peak drain"}});
    for (const time::SiphonRow& row : window.rows) {
        rows.add({speech.flow(row.inflow_m3_s), Speech::duration(row.fill_s), Speech::duration(row.drain_s), Speech::duration(row.period_s),
                  speech.flow(row.peak_drain_m3_s)});
    }
    return rows.empty() ? "" : rows.text(paint);
}

void show_text(const SiphonWindow& window, QuestionPage& page) {
    const layout::Layout& layout = page.subject().layout;
    const Speech& speech = page.subject().speech;
    const Paint& paint = page.paint();
    const layout::Siphon& siphon = siphon_of(window, layout);
    std::string text =
        "\n" + paint(Ink::title, fmt::format("Siphon {} of {}, '{}'", siphon.id, vessel_id(layout, window.vessel), arrangement_of(window, layout))) +
        '\n';
    const bool good = window.inflow_is == InflowIs::in_window && !window.empty;
    const bool wrong =
        window.empty || window.lower != WindowEnd::found || window.inflow_is == InflowIs::too_little || window.inflow_is == InflowIs::too_much;
    const Ink ink = good ? Ink::good : wrong ? Ink::trouble : Ink::plain;
    text += paint(ink, wrapped(wrong ? "! " : "  ", with_full_stop(window_sentence(window, siphon.id, speech)) + ' ' +
                                                        with_full_stop(capital(inflow_sentence(window, layout, speech)))));
    if (const std::string change = advice(window, speech); !change.empty()) {
        text += wrapped("  ", change);
    }
    text += wrapped(
        "  ",
        fmt::format("When a siphon starts is uncertain: with this bore, {} may be enough and {} surely is (common practice); the layout says {}.",
                    speech.flow(window.may_start_from_m3_s), speech.flow(window.surely_starts_from_m3_s), speech.flow(siphon.starts_with_m3_s)));
    page.text(text + table(window, speech, paint));
}

void show_json(const SiphonWindow& window, QuestionPage& page) {
    const layout::Layout& layout = page.subject().layout;
    JsonWriter& json = page.json();
    json.new_line();
    json.begin_object();
    json.entry("asks", "siphon-window");
    json.entry("arrangement", arrangement_of(window, layout));
    json.entry("bed", vessel_id(layout, window.vessel));
    json.entry("siphon", siphon_of(window, layout).id);
    json.entry("lower_end", time::name_of(window.lower));
    json.entry("upper_end", time::name_of(window.upper));
    json.entry("empty", window.empty);
    json.entry("starts_from_m3_s", window.starts_from_m3_s);
    json.entry("breaks_to_m3_s", window.breaks_to_m3_s);
    json.entry("may_start_from_m3_s", window.may_start_from_m3_s);
    json.entry("surely_starts_from_m3_s", window.surely_starts_from_m3_s);
    json.entry("starts_with_m3_s", siphon_of(window, layout).starts_with_m3_s);
    json.entry("inflow_m3_s", window.inflow_m3_s);
    json.entry("least_inflow_m3_s", window.least_inflow_m3_s);
    json.entry("greatest_inflow_m3_s", window.greatest_inflow_m3_s);
    json.entry("inflow_is", time::name_of(window.inflow_is));
    json.key("cycles");
    json.begin_array();
    for (const time::SiphonRow& row : window.rows) {
        json.new_line();
        json.begin_object();
        json.entry("inflow_m3_s", row.inflow_m3_s);
        json.entry("fill_s", row.fill_s);
        json.entry("drain_s", row.drain_s);
        json.entry("period_s", row.period_s);
        json.entry("peak_drain_m3_s", row.peak_drain_m3_s);
        json.end_object();
    }
    json.end_array();
    json.end_object();
}

void show_csv(const SiphonWindow& window, QuestionPage& page) {
    const layout::Layout& layout = page.subject().layout;
    const std::string question = fmt::format("siphon-window in {}", arrangement_of(window, layout));
    const std::string& id = siphon_of(window, layout).id;
    page.word({question, id, "lower-end", ""}, time::name_of(window.lower));
    page.word({question, id, "upper-end", ""}, time::name_of(window.upper));
    page.word({question, id, "inflow-is", ""}, time::name_of(window.inflow_is));
    page.figure({question, id, "starts-from", "m3/s"}, window.starts_from_m3_s);
    page.figure({question, id, "breaks-to", "m3/s"}, window.breaks_to_m3_s);
    page.figure({question, id, "may-start-from", "m3/s"}, window.may_start_from_m3_s);
    page.figure({question, id, "surely-starts-from", "m3/s"}, window.surely_starts_from_m3_s);
    page.figure({question, id, "inflow", "m3/s"}, window.inflow_m3_s);
    for (const time::SiphonRow& row : window.rows) {
        page.figure({question, id, "inflow-of-cycle", "m3/s"}, row.inflow_m3_s);
        page.figure({question, id, "fill", "s"}, row.fill_s);
        page.figure({question, id, "drain", "s"}, row.drain_s);
        page.figure({question, id, "period", "s"}, row.period_s);
    }
}

}  // namespace

void show_window(const time::SiphonWindow& window, QuestionPage& page) {
    switch (page.format()) {
        case Format::text: return show_text(window, page);
        case Format::json: return show_json(window, page);
        case Format::csv: return show_csv(window, page);
    }
}

}  // namespace ebb::cli
