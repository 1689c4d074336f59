// `diagnose --calibrate` for a person: how well the readings are explained, what was fitted, what was not and why, the readings before and after.

#include <fmt/format.h>

#include <cmath>

#include "cli/views/calibrate_view.h"
#include "cli/views/page.h"
#include "cli/views/question_words.h"
#include "cli/views/sections.h"
#include "cli/words.h"

namespace ebb::cli {

namespace {

using diagnose::Calibration;
using diagnose::Coefficient;
using diagnose::FittedCoefficient;
using diagnose::Told;

std::size_t at(std::int32_t index) { return static_cast<std::size_t>(index); }

layout::Kind kind_of(Coefficient what) {
    switch (what) {
        case Coefficient::opening: return layout::Kind::valve;
        case Coefficient::wear: return layout::Kind::pump;
        case Coefficient::filter_load: return layout::Kind::filter;
        default: return layout::Kind::pipe;
    }
}

std::string value_words(const CalibrationScene& scene, Coefficient what, double value) {
    switch (what) {
        case Coefficient::roughness: return scene.subject.speech.roughness(value);
        case Coefficient::hazen_williams: return fmt::format("C {:.0f}", value);
        default: return fmt::format("{:.1f} %", 100.0 * value);
    }
}

std::string range_words(const CalibrationScene& scene, const FittedCoefficient& one) {
    const std::string low = value_words(scene, one.what, one.low), high = value_words(scene, one.what, one.high);
    return low == high ? low : low + " to " + high;
}

class CalibrationText {
public:
    explicit CalibrationText(const CalibrationScene& scene) : scene_(scene), calibration_(scene.calibration), paint_(scene.subject.colour) {}
    std::string whole() const {
        std::string text = top();
        if (calibration_.outcome != Calibration::Outcome::no_solution) text += fitted() + left() + readings() + beside();
        return text + cautions_section(scene_.subject.layout, scene_.subject.speech, paint_);
    }

private:
    std::string top() const {
        const layout::Layout& layout = scene_.subject.layout;
        std::string text = paint_(Ink::title, layout.name.empty() ? "A layout without a name" : layout.name) + '\n';
        std::vector<std::string> names;
        for (std::size_t v = 0; v < scene_.words.visits(); ++v) names.push_back(scene_.words.arrangement(static_cast<std::int32_t>(v)));
        text += "\n" +
                paint_(Ink::title, fmt::format("Calibration by {}{}, {}", counted(scene_.readings.readings.size(), "reading", "readings"),
                                               scene_.readings_name.empty() ? "" : " (" + scene_.readings_name + ")", quoted_list(names, 4))) +
                '\n';
        const bool good = calibration_.outcome == Calibration::Outcome::fitted && calibration_.fits;
        bool first = true;
        for (const std::string& sentence : calibration_verdict(scene_)) {
            say(text, paint_, !first ? Ink::plain : good ? Ink::good : Ink::trouble, with_full_stop(sentence));
            first = false;
        }
        return text;
    }

    std::string fitted() const {
        Table table({{"fitted", Align::left}, {"drawn"}, {"fits best"}, {"9 times of 10 within"}, {"", Align::left}});
        for (const FittedCoefficient& one : calibration_.coefficients)
            if (one.told == Told::yes)
                table.add({coefficient_words(scene_, one), value_words(scene_, one.what, one.drawn), value_words(scene_, one.what, one.fitted),
                           range_words(scene_, one), one.at_limit ? "as far as can be" : ""});
        return table.empty() ? std::string() : "\n" + paint_(Ink::title, "Coefficients") + '\n' + table.text(paint_);
    }

    std::string left() const {
        Table table({{"left as drawn", Align::left}, {"drawn"}, {"why", Align::left}});
        std::size_t silent = 0;
        for (const FittedCoefficient& one : calibration_.coefficients) {
            if (one.told == Told::yes) continue;
            if (one.told == Told::moves_nothing && !scene_.subject.everything) {
                ++silent;
                continue;
            }
            table.add({coefficient_words(scene_, one), value_words(scene_, one.what, one.drawn), why_not(scene_, one)});
        }
        if (table.empty() && silent == 0) return {};
        std::string text = "\n" + paint_(Ink::title, "What these readings do not tell") + '\n' + (table.empty() ? std::string() : table.text(paint_));
        if (silent > 0)
            text += wrapped("  ", fmt::format("{} that move none of the readings are left as drawn too (--all lists them).",
                                              counted(silent, "coefficient", "coefficients")));
        return text;
    }

    std::string readings() const {
        Table table({{"reading", Align::left}, {"read"}, {"plus-minus"}, {"as drawn"}, {"fitted"}});
        const auto cell = [&](std::size_t i, const std::vector<diagnose::Predicted>& predicted, const std::vector<double>& pulls) {
            return scene_.words.value(scene_.readings.readings[i].what, predicted[i].value, predicted[i].spread) +
                   (std::abs(pulls[i]) > 2.0 ? " !" : "  ");
        };
        for (std::size_t i = 0; i < scene_.readings.readings.size() && i < calibration_.before.size(); ++i) {
            const diagnose::Reading& reading = scene_.readings.readings[i];
            table.add({scene_.words.observable(reading.what), scene_.words.value(reading.what, reading.value), scene_.words.plus_minus(reading),
                       cell(i, calibration_.before, calibration_.pulls_before), cell(i, calibration_.after, calibration_.pulls_after)});
        }
        return "\n" + paint_(Ink::title, "The readings") + '\n' + table.text(paint_) +
               wrapped("  ", "!: further off than the reading's plus-minus allows.");
    }

    std::string beside() const {
        std::string text = "\n" + paint_(Ink::title, "Beside the coefficients") + '\n';
        text += wrapped("  - ", fmt::format("{} network solves. Looks (yes or no) are not fitted to.", calibration_.solves));
        if (!scene_.written.empty())
            text += wrapped("  - ", fmt::format("{} holds the layout with the fitted coefficients, all else as it was.", scene_.written));
        return text + wrapped("  - ", "A coefficient takes up whatever is wrong elsewhere: one that is hard to believe (a pump that lost half its "
                                      "head, a valve that stands "
                                      "where nobody set it) is a fault to look for, not a figure to write down.");
    }

    const CalibrationScene& scene_;
    const Calibration& calibration_;
    Paint paint_;
};

}  // namespace

std::string name_of(Calibration::Outcome outcome) {
    switch (outcome) {
        case Calibration::Outcome::fitted: return "fitted";
        case Calibration::Outcome::nothing_to_fit: return "nothing-to-fit";
        case Calibration::Outcome::nothing_told: return "nothing-told";
        case Calibration::Outcome::no_solution: return "no-solution";
        case Calibration::Outcome::stopped: return "stopped";
    }
    return {};
}

const char* name_of(Coefficient what) {
    switch (what) {
        case Coefficient::roughness: return "roughness";
        case Coefficient::hazen_williams: return "hazen-williams";
        case Coefficient::opening: return "opening";
        case Coefficient::wear: return "wear";
        case Coefficient::filter_load: return "filter-load";
    }
    return "";
}

std::vector<std::string> ids_of(const CalibrationScene& scene, const FittedCoefficient& one) {
    std::vector<std::string> ids;
    for (const std::int32_t thing : one.things) ids.push_back(scene.words.id({kind_of(one.what), thing}));
    return ids;
}

std::string coefficient_words(const CalibrationScene& scene, const FittedCoefficient& one) {
    const std::vector<std::string> ids = ids_of(scene, one);
    const auto in_visits = [&] {
        if (scene.words.visits() < 2 || one.visits.size() == scene.words.visits()) return std::string();
        std::vector<std::string> names;
        for (const std::int32_t visit : one.visits) names.push_back(scene.words.arrangement(visit));
        return " in " + quoted_list(names, 2);
    };
    switch (one.what) {
        case Coefficient::opening: return "opening of " + ids.front() + in_visits();
        case Coefficient::wear: return "wear of pump " + ids.front();
        case Coefficient::filter_load: return "load of filter " + ids.front() + in_visits();
        default: break;
    }
    const char* what = one.what == Coefficient::roughness ? "roughness" : "Hazen-Williams C";
    const std::string& series = scene.subject.layout.pipes[at(one.things.front())].series;
    if (series.empty() || one.things.size() == 1) return fmt::format("{} of {}", what, in_few_words(ids, 3));
    return fmt::format("{} of series {} ({} pipes)", what, series, one.things.size());
}

std::string why_not(const CalibrationScene& scene, const FittedCoefficient& one) {
    const std::string partner = one.partner < 0 ? std::string() : coefficient_words(scene, scene.calibration.coefficients[at(one.partner)]);
    switch (one.told) {
        case Told::yes: return {};
        case Told::moves_nothing: return "it moves none of the readings";
        case Told::too_weakly: return "the readings say too little of it" + (partner.empty() ? "" : ", and do not tell it from " + partner);
        case Told::not_apart:
            return fmt::format("not told from {}; if it alone: {}", partner.empty() ? "the others" : partner,
                               value_words(scene, one.what, one.alone));
    }
    return {};
}

std::vector<std::string> calibration_verdict(const CalibrationScene& scene) {
    const Calibration& calibration = scene.calibration;
    std::vector<std::string> text;
    const auto chi = [&] {
        return fmt::format("chi-squared of the {} goes from {} to {}", counted(calibration.used, "reading", "readings"),
                           Speech::plain(calibration.chi_squared_before), Speech::plain(calibration.chi_squared_after));
    };
    switch (calibration.outcome) {
        case Calibration::Outcome::no_solution:
            text.push_back("The farm as drawn has no solution in an arrangement that was read, so nothing can be fitted; 'ebbwright flows' says why");
            break;
        case Calibration::Outcome::nothing_to_fit:
            text.push_back("There is nothing to fit: no roughness, no throttled valve, no running pump and no filter in these arrangements");
            break;
        case Calibration::Outcome::nothing_told:
            text.push_back(
                calibration.used == 0
                    ? "There is no reading with a figure: looks are not fitted to"
                    : "These readings tell none of the coefficients: all stay as drawn. Read flows and pressures, in more places or arrangements");
            break;
        case Calibration::Outcome::stopped: text.push_back("Interrupted before the fit was done"); break;
        case Calibration::Outcome::fitted:
            text.push_back(fmt::format("{} fitted: {}", counted(calibration.told, "coefficient", "coefficients"), chi()));
            if (!calibration.converged) text.push_back("The fit did not come to an end; what is shown is the best found");
            if (calibration.used <= calibration.told)
                text.push_back(
                    "There are no more readings than coefficients, so they fit whatever is wrong: read more before these figures are believed");
            break;
    }
    const bool tried = calibration.outcome == Calibration::Outcome::fitted || calibration.outcome == Calibration::Outcome::nothing_told;
    if (tried && calibration.used > 0 && !calibration.fits)
        text.push_back(
            "That does not explain the readings: what is wrong is no coefficient, or is not told from another. Run diagnose without --calibrate");
    return text;
}

std::string calibration_text(const CalibrationScene& scene) { return CalibrationText(scene).whole(); }

}  // namespace ebb::cli
