#include "cli/views/question_cut_text.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "cli/views/question_cut.h"
#include "cli/views/question_words.h"
#include "cli/words.h"

namespace ebb::cli {
namespace {

constexpr double kSpillM3 = 1e-6;
constexpr double kMovedM = 5e-4;       ///< a vessel whose level moves less has no row
constexpr double kLittleM3 = 5e-4;     ///< half a litre is no more than a film
constexpr std::size_t kWhole = 2;      ///< so many answers are told whole
constexpr double kFreeboardM = 0.050;  ///< wanted under a rim (as in findings.h)

std::size_t at(std::int32_t index) { return static_cast<std::size_t>(index); }

class CutText {
public:
    CutText(const Subject& subject, const Paint& paint, const time::PowerCutAnswer& answer)
        : subject_(subject), speech_(subject.speech), layout_(subject.layout), paint_(paint), answer_(answer) {}

    std::string whole() const;
    std::vector<Said> sentences() const;
    Table table() const;
    std::string name() const;
    std::string highest() const;

private:
    const std::string& id(std::int32_t vessel) const { return layout_.vessels[at(vessel)].id; }
    bool is_sump(std::int32_t vessel) const {
        return std::any_of(answer_.home.begin(), answer_.home.end(), [vessel](const time::HomeComing& home) { return home.sump == vessel; });
    }
    std::string begins() const;
    std::string spills() const;
    void home(std::vector<Said>& to) const;
    std::string drawn_back(const time::Backflow& flow) const;
    std::string ended(const time::Backflow& flow) const;
    void restart(std::vector<Said>& to) const;
    std::string sumps_fall() const;
    void bare(std::vector<Said>& to) const;

    const Subject& subject_;
    const Speech& speech_;
    const layout::Layout& layout_;
    const Paint& paint_;
    const time::PowerCutAnswer& answer_;
};

std::string CutText::name() const {
    return answer_.routine >= 0 ? layout_.routines[at(answer_.routine)].name : layout_.arrangements[at(answer_.arrangement)].name;
}

std::string CutText::begins() const {
    switch (answer_.start) {
        case time::CutStart::cycle:
            return fmt::format("Every pump stops at the worst of {} moments of {}, {} after its beginning; no valve moves without power.",
                               answer_.moments_tried, std::isfinite(answer_.period_s) ? "one cycle" : "the last day",
                               Speech::duration(answer_.moment_s));
        case time::CutStart::start_depths:
            return fmt::format("There is no settled state ({}), so every pump stops at the levels drawn.", answer_.why_not_settled);
        case time::CutStart::settled: break;
    }
    return "Every pump stops while the farm runs at its settled levels; the mains keep their pressure.";
}

/// First what is on the floor; else that nothing is, and how long it takes.
std::string CutText::spills() const {
    if (answer_.spilled_m3 > kSpillM3) {
        std::vector<std::string> parts;
        for (std::size_t v = 0; v < answer_.vessels.size(); ++v) {
            const time::CutVessel& vessel = answer_.vessels[v];
            if (vessel.spilled_m3 > kSpillM3) {
                parts.push_back(fmt::format("{} spills {}, from {} after the cut", layout_.vessels[v].id, speech_.volume(vessel.spilled_m3),
                                            Speech::duration(vessel.first_spill_s)));
            }
        }
        return capital(listed(parts, parts.size())) + ".";
    }
    constexpr double kLate = 0.98;  // of a cut that ends before the water does, the last level has only just come to where it ends
    const bool moves = answer_.cut.ending != time::Ending::still && answer_.over_after_s > kLate * answer_.cut.lasted_s;
    const std::string over = moves ? fmt::format("water still runs home after {}", Speech::duration(answer_.cut.lasted_s))
                                   : fmt::format("it is over after {}", Speech::duration(answer_.over_after_s));
    return fmt::format("Nothing spills; {}.", over);
}

void CutText::home(std::vector<Said>& to) const {
    for (const time::HomeComing& home : answer_.home) {
        const time::CutVessel& vessel = answer_.vessels[at(home.sump)];
        if (std::abs(home.returned_m3) < kLittleM3) {
            continue;
        }
        if (home.returned_m3 < 0.0) {
            to.push_back({Ink::plain, fmt::format("{} loses {} and falls to {}.", id(home.sump), speech_.volume(-home.returned_m3),
                                                  speech_.height(vessel.end_depth_m))});
            continue;
        }
        std::vector<std::pair<std::int32_t, double>> from;
        for (const time::CameFrom& one : home.from) {
            from.emplace_back(one.vessel, one.volume_m3);
        }
        const bool tight = vessel.least_freeboard_m < kFreeboardM;
        to.push_back({tight && vessel.spilled_m3 <= kSpillM3 ? Ink::doubt : Ink::plain,
                      fmt::format("{} comes home to {}{}: it rises from {} to {}, {}.", speech_.volume(home.returned_m3), id(home.sump),
                                  from.empty() ? "" : " (" + volumes_in_words(subject_, from) + ")", speech_.height(vessel.before_depth_m),
                                  speech_.height(vessel.greatest_depth_m),
                                  vessel.spilled_m3 > kSpillM3 ? "its rim" : speech_.height(vessel.least_freeboard_m) + " below its rim")});
    }
}

std::string CutText::ended(const time::Backflow& flow) const {
    switch (flow.ended) {
        case time::BackflowEnd::port: return "where its port comes out of the water";
        case time::BackflowEnd::air_hole: return "where its air hole lets air in";
        case time::BackflowEnd::levels_equal: return fmt::format("where it stands level with {}", id(flow.equal_with));
        case time::BackflowEnd::still_running: return "and it still runs";
        case time::BackflowEnd::balance: break;
    }
    return "where it comes to rest";
}

std::string CutText::drawn_back(const time::Backflow& flow) const {
    const std::string& pipe = layout_.pipes[at(flow.pipe)].id;
    if (flow.evens_out) {
        return fmt::format("{} runs back through {} from {} to {} until they are level.", speech_.volume(flow.volume_m3), pipe, id(flow.vessel),
                           vessels_in_words(layout_, flow.into));
    }
    const std::string into = flow.into.empty() ? std::string() : " into " + vessels_in_words(layout_, flow.into);
    std::string text = fmt::format("{} ends under water in {} and draws {} back out of it{}: {} falls from {} to {}, {}.", pipe, id(flow.vessel),
                                   speech_.volume(flow.volume_m3), into, id(flow.vessel), speech_.height(flow.from_depth_m),
                                   speech_.height(flow.down_to_depth_m), ended(flow));
    if (std::isfinite(flow.air_hole_advised_m)) {
        text += fmt::format(" An air hole of 6 to 8 mm in it, {} above the floor of {}, would keep {} there; a check valve in {} nearly all.",
                            speech_.height(flow.air_hole_advised_m), id(flow.vessel), speech_.volume(flow.saved_m3), pipe);
    } else {
        text += fmt::format(" A check valve in {} would hold it.", pipe);
    }
    return text;
}

/// How low the sumps fall before the water is round again: the answer to how much a pump must have over its intake.
std::string CutText::sumps_fall() const {
    constexpr double kLowerM = 0.005;
    std::vector<std::string> parts, ids;
    for (const time::HomeComing& home : answer_.home) {
        const time::CutVessel& vessel = answer_.vessels[at(home.sump)];
        ids.push_back(id(home.sump));
        if (vessel.restart_least_at_s > 0.0 && vessel.restart_least_depth_m < vessel.before_depth_m - kLowerM) {
            parts.push_back(fmt::format("{} falls to {} ({} after)", id(home.sump), speech_.height(vessel.restart_least_depth_m),
                                        Speech::duration(vessel.restart_least_at_s)));
        }
    }
    if (ids.empty()) {
        return {};
    }
    if (parts.empty()) {
        return fmt::format("On the way back {} {} no lower than when running.", listed(ids, ids.size()), ids.size() == 1 ? "falls" : "fall");
    }
    return fmt::format("{} {}.", answer_.routine >= 0 ? "In the day after," : "Before the water is round again,", listed(parts, parts.size()));
}

void CutText::bare(std::vector<Said>& to) const {
    for (const time::BareIntake& one : answer_.bare) {
        const bool stays = one.first_s + one.for_s >= answer_.restart.lasted_s - 1.0;
        to.push_back(
            {Ink::trouble, fmt::format("When the power is back the intake of {} is bare from {} on, {}: it runs dry.", layout_.pumps[at(one.pump)].id,
                                       Speech::duration(one.first_s), stays ? "and stays so" : "for " + Speech::duration(one.for_s) + " in all")});
    }
    for (std::size_t v = 0; v < answer_.vessels.size(); ++v) {
        const time::CutVessel& vessel = answer_.vessels[v];
        if (vessel.restart_spilled_m3 > kSpillM3) {
            to.push_back({Ink::trouble, fmt::format("When the power is back {} spills {}, from {} on.", layout_.vessels[v].id,
                                                    speech_.volume(vessel.restart_spilled_m3), Speech::duration(vessel.restart_first_spill_s))});
        }
    }
}

void CutText::restart(std::vector<Said>& to) const {
    bare(to);
    const std::string falls = sumps_fall();
    const std::string again =
        std::isfinite(answer_.settled_again_after_s) ? fmt::format(" after {}", Speech::duration(answer_.settled_again_after_s)) : std::string();
    if (!answer_.cycle_now.empty()) {
        to.push_back(
            {Ink::doubt,
             fmt::format("With the power back the farm runs another way than before: the siphons of {} start and break in turn, where they stood or "
                         "dribbled. Both ways are possible; which one it is depends on how the water comes.",
                         vessels_in_words(layout_, answer_.cycle_now))});
    } else if (!answer_.not_back.empty()) {
        std::vector<std::string> parts;
        for (const std::int32_t vessel : answer_.not_back) {
            const time::CutVessel& one = answer_.vessels[at(vessel)];
            parts.push_back(
                fmt::format("{} stands at {} instead of {}", id(vessel), speech_.height(one.after_depth_m), speech_.height(one.before_depth_m)));
        }
        std::string missing;
        if (answer_.missing_m3 > kLittleM3) {
            missing = fmt::format("; {} is no longer in the farm", speech_.volume(answer_.missing_m3));
        }
        constexpr std::size_t kNamed = 4;
        to.push_back({Ink::trouble, fmt::format("With the power back the farm does not come back by itself: {}{}.", listed(parts, kNamed), missing)});
    } else if (answer_.comes_back || answer_.bare.empty()) {
        const bool judged = answer_.routine >= 0 ? std::isfinite(answer_.cut.lasted_s) : true;
        to.push_back({answer_.comes_back ? Ink::good : Ink::plain,
                      judged ? fmt::format("With the power back {} by itself{}; no intake goes bare.",
                                           answer_.routine >= 0 ? "the routine goes on" : "every level returns", again)
                             : std::string()});
    }
    to.push_back({Ink::plain, falls});
}

Table CutText::table() const {
    Table table({{"", Align::left}, {"running"}, {"after the cut"}, {"change"}, {"greatest"}, {"freeboard"}, {"spilled"}, {"least after restart"}});
    for (std::size_t v = 0; v < answer_.vessels.size(); ++v) {
        const time::CutVessel& vessel = answer_.vessels[v];
        const bool moved =
            std::abs(vessel.end_depth_m - vessel.before_depth_m) > kMovedM || vessel.greatest_depth_m - vessel.before_depth_m > kMovedM;
        if (!moved) {
            continue;
        }
        const bool spills = vessel.spilled_m3 > kSpillM3;
        const std::string change = (vessel.gained_m3 > 0.0 ? "+" : "-") + speech_.volume(std::abs(vessel.gained_m3));
        table.add({layout_.vessels[v].id, speech_.height(vessel.before_depth_m), speech_.height(vessel.end_depth_m), change,
                   speech_.height(vessel.greatest_depth_m), speech_.height(vessel.least_freeboard_m), spills ? speech_.volume(vessel.spilled_m3) : "",
                   is_sump(static_cast<std::int32_t>(v)) ? speech_.height(vessel.restart_least_depth_m) : ""},
                  spills                                   ? Ink::trouble
                  : vessel.least_freeboard_m < kFreeboardM ? Ink::doubt
                                                           : Ink::plain);
    }
    return table;
}

std::vector<Said> CutText::sentences() const {
    std::vector<Said> all;
    if (!answer_.any_pump_ran) {
        return {{Ink::plain, "No pump runs here: there is nothing to cut."}};
    }
    if (answer_.vessels.empty()) {
        return {{Ink::trouble, with_full_stop("It could not be followed: " + ended_badly(answer_.cut))}};
    }
    all.push_back({answer_.spilled_m3 > kSpillM3 ? Ink::trouble : Ink::good, spills()});
    if (const std::string why = ended_badly(answer_.cut); !why.empty()) {
        all.push_back({Ink::trouble, with_full_stop("The cut could not be followed to its end: " + why)});
    }
    if (const std::string why = ended_badly(answer_.restart); !why.empty()) {
        all.push_back({Ink::trouble, with_full_stop("The return of the power could not be followed to its end: " + why)});
    }
    all.push_back({Ink::quiet, begins()});
    home(all);
    for (const time::Backflow& flow : answer_.backflows) {
        if (flow.volume_m3 > kLittleM3) {
            all.push_back({flow.evens_out ? Ink::plain : Ink::doubt, drawn_back(flow)});
        }
    }
    restart(all);
    std::erase_if(all, [](const Said& one) { return one.sentence.empty(); });
    return all;
}

std::string CutText::whole() const {
    std::string text = "\n" + paint_(Ink::title, fmt::format("Power cut, {}", name())) + "\n";
    for (const Said& said : sentences()) {
        say(text, paint_, said.ink, said.sentence);
    }
    const Table moved = table();
    return moved.empty() ? text : text + "\n" + moved.text(paint_);
}

/// The vessel nearest to its rim, of those that rise.
std::string CutText::highest() const {
    const time::CutVessel* nearest = nullptr;
    std::size_t which = 0;
    for (std::size_t v = 0; v < answer_.vessels.size(); ++v) {
        const time::CutVessel& vessel = answer_.vessels[v];
        const bool rises = vessel.greatest_depth_m - vessel.before_depth_m > kMovedM;
        if (rises && (nearest == nullptr || vessel.least_freeboard_m < nearest->least_freeboard_m)) {
            nearest = &vessel;
            which = v;
        }
    }
    return nearest == nullptr ? "-" : fmt::format("{} {}", layout_.vessels[which].id, speech_.height(nearest->least_freeboard_m));
}

/// How bad it is: what goes over rims first, then a farm that does not come back, then the least freeboard of a vessel that rises.
bool worse(const time::PowerCutAnswer& one, const time::PowerCutAnswer& other) {
    if (std::abs(one.spilled_m3 - other.spilled_m3) > kSpillM3) {
        return one.spilled_m3 > other.spilled_m3;
    }
    const bool fails = one.any_pump_ran && !one.comes_back, other_fails = other.any_pump_ran && !other.comes_back;
    if (fails != other_fails) {
        return fails;
    }
    const auto returned = [](const time::PowerCutAnswer& answer) {
        double most = 0.0;
        for (const time::HomeComing& home : answer.home) {
            most = std::max(most, home.returned_m3);
        }
        return most;
    };
    return returned(one) > returned(other);
}

std::string overview(const Subject& subject, const Paint& paint, const std::vector<time::PowerCutAnswer>& answers) {
    Table table({{"", Align::left}, {"over after"}, {"spilled"}, {"nearest rim"}, {"drawn back"}, {"settled again"}, {"comes back", Align::left}});
    for (const time::PowerCutAnswer& answer : answers) {
        const CutText one(subject, paint, answer);
        if (!answer.any_pump_ran || answer.vessels.empty()) {
            table.add({one.name(), answer.any_pump_ran ? "no answer" : "no pump runs"}, answer.any_pump_ran ? Ink::trouble : Ink::plain);
            continue;
        }
        double back = 0.0;
        for (const time::Backflow& flow : answer.backflows) {
            back += flow.evens_out ? 0.0 : flow.volume_m3;
        }
        const bool harm = cut_does_harm(answer);
        table.add({one.name(), Speech::duration(answer.over_after_s),
                   answer.spilled_m3 > kSpillM3 ? subject.speech.volume(answer.spilled_m3) : "nothing", one.highest(),
                   back > kLittleM3 ? subject.speech.volume(back) : "", Speech::duration(answer.settled_again_after_s),
                   answer.comes_back ? "yes" : "no"},
                  harm                ? Ink::trouble
                  : answer.comes_back ? Ink::plain
                                      : Ink::doubt);
    }
    return "\n" + paint(Ink::title, "Power cut: every pump stops, then starts again") + "\n" + table.text(paint);
}

/// The clock that matters more than water: air. And the mark that keeps the floor dry.
std::vector<std::string> cautions(const Subject& subject, const std::vector<time::PowerCutAnswer>& answers) {
    std::vector<std::string> tanks;
    for (const layout::Vessel& vessel : subject.layout.vessels) {
        if (vessel.kind == layout::VesselKind::tank) {
            tanks.push_back(vessel.id);
        }
    }
    std::vector<std::string> all;
    constexpr std::size_t kNamed = 6;
    if (!tanks.empty()) {
        all.push_back(fmt::format("Air: without air and flow, fish at dense stocking have about 10 minutes (common practice), whatever the levels "
                                  "of {} say. Keep air on a supply of its own, and try it every month.",
                                  in_few_words(tanks, kNamed)));
    }
    std::vector<std::string> marks;
    for (std::size_t i = 0; i < answers.front().home.size(); ++i) {
        double least = HUGE_VAL;
        const std::int32_t sump = answers.front().home[i].sump;
        for (const time::PowerCutAnswer& answer : answers) {
            if (i < answer.home.size() && answer.spilled_m3 <= kSpillM3) {
                least = std::min(least, answer.vessels[at(sump)].end_depth_m);
            }
        }
        if (std::isfinite(least) && subject.layout.vessels[at(sump)].kind == layout::VesselKind::sump) {
            marks.push_back(fmt::format("{} {}", subject.layout.vessels[at(sump)].id, subject.speech.height(least)));
        }
    }
    if (!marks.empty()) {
        all.push_back(fmt::format("Fill with the pumps stopped, and no higher than the water rests after a cut: {}. A sump filled up while "
                                  "the pumps run overflows at the next cut.",
                                  listed(marks, kNamed)));
    }
    return all;
}

}  // namespace

std::string cuts_text(const Subject& subject, const Paint& paint, const std::vector<time::PowerCutAnswer>& answers) {
    std::string text;
    if (answers.size() <= kWhole) {
        for (const time::PowerCutAnswer& answer : answers) {
            text += CutText(subject, paint, answer).whole();
        }
    } else {
        text += overview(subject, paint, answers);
        const auto worst = std::min_element(answers.begin(), answers.end(), worse);
        text += "\nThe worst of them:\n" + CutText(subject, paint, *worst).whole();
    }
    if (answers.empty()) {
        return text;
    }
    text += "\n" + paint(Ink::title, "Beside the water") + "\n";
    for (const std::string& caution : cautions(subject, answers)) {
        text += wrapped("  - ", caution);
    }
    return text;
}

CutCard cut_card(const Subject& subject, const time::PowerCutAnswer& answer) {
    const Paint plain(false);
    const CutText one(subject, plain, answer);
    return {one.sentences(), answer.vessels.empty() ? Table({}) : one.table(), cautions(subject, {answer})};
}

}  // namespace ebb::cli
