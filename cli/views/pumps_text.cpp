// `pumps` for a person: which pump and why, or what is in the way; then the duty, the ranking, the rejected.

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <functional>
#include <string>
#include <vector>

#include "cli/views/money.h"
#include "cli/views/page.h"
#include "cli/views/pumps_standby.h"
#include "cli/views/pumps_words.h"
#include "cli/views/sections.h"
#include "cli/words.h"

namespace ebb::cli {

namespace {

using choose::Candidate;
using choose::CandidatePoint;
using choose::Duty;
using choose::DutyOutcome;
using choose::PumpChoice;
using choose::Standing;

std::size_t at(std::int32_t index) { return static_cast<std::size_t>(index); }

constexpr std::size_t kShownRanks = 8;

void say(std::string& text, const Paint& paint, Ink ink, const std::string& sentence) {
    if (sentence.empty()) return;
    const char* mark = ink == Ink::trouble ? "! " : ink == Ink::doubt ? "? " : "  ";
    text += paint(ink, wrapped(mark, with_full_stop(sentence)));
}

class PumpsText {
public:
    explicit PumpsText(const PumpsScene& scene)
        : subject_(scene.subject), layout_(scene.subject.layout), speech_(scene.subject.speech), answer_(scene.answer), words_(scene),
          paint_(scene.subject.colour) {}

    std::string whole() const {
        std::string text = paint_(Ink::title, layout_.name.empty() ? "A layout without a name" : layout_.name) + '\n';
        if (layout_.pumps.empty()) {
            say(text, paint_, Ink::plain, "It has no pump to choose");
            return text;
        }
        say(text, paint_, Ink::trouble, stopped());
        for (const PumpChoice& choice : answer_.pumps) say(text, paint_, headline_ink(choice), headline(choice));
        text += together();
        for (const choose::Beside& one : answer_.beside)
            if (one.spoiled()) say(text, paint_, Ink::trouble, words_.spoiled(one));
        for (const PumpChoice& choice : answer_.pumps) text += pump(choice);
        text += failures_text(subject_, words_, paint_, answer_);
        text += beside();
        text += "\n" + paint_(Ink::title, "What the figures rest on") + '\n';
        text += wrapped("  - ", costing_in_words(answer_.costing, layout_.economy.currency));
        text += wrapped("  - ", hours());
        text += wrapped("  - ",
                        "The cost over the years is the price and the present worth of the energy of this pump; repairs and fitting are not in it.");
        if (several()) text += wrapped("  - ", "Of several side by side each needs a check valve, and all a manifold; these are not in the price.");
        return text + cautions_section(layout_, speech_, paint_);
    }

private:
    std::string cost(double amount) const { return money(amount, layout_.economy.currency); }
    std::string years() const { return fmt::format("{:.4g} years", answer_.costing.years); }

    /// What was left when it was stopped; empty when it was not.
    std::string stopped() const {
        if (!answer_.stopped) return {};
        if (answer_.tried < answer_.to_try)
            return fmt::format("Stopped after {} of {}; what follows is incomplete", answer_.tried,
                               counted(static_cast<std::size_t>(answer_.to_try), "candidate", "candidates"));
        return fmt::format(
            "Stopped when {} had been tried, but not yet all together, in the routines or with one stopped; what follows is incomplete",
            counted(static_cast<std::size_t>(answer_.to_try), "candidate", "candidates"));
    }

    /// Whether several of a model side by side are on offer.
    bool several() const {
        for (const PumpChoice& choice : answer_.pumps)
            for (const Candidate& one : choice.candidates)
                if (one.count > 1 && one.standing != Standing::rejected) return true;
        return false;
    }

    /// What else changes when the winners are written into the layout.
    std::string beside() const {
        if (answer_.beside.empty() && answer_.routines_not_followed.empty()) return {};
        std::string text = "\n" + paint_(Ink::title, "What else changes by it") + '\n';
        std::vector<std::string> names;
        for (const choose::Beside& one : answer_.beside) names.push_back(words_.arrangement(one.arrangement));
        constexpr std::size_t kNamed = 6;
        if (!names.empty())
            say(text, paint_, Ink::plain,
                fmt::format("The new pumps run too in {}: solved there once, they were not chosen for it", quoted_list(names, kNamed)));
        names.clear();
        for (const std::int32_t routine : answer_.routines_not_followed) names.push_back(layout_.routines[at(routine)].name);
        if (!names.empty())
            say(text, paint_, Ink::plain, fmt::format("They take part in the routines {}; not followed here (`cycle`)", quoted_list(names, kNamed)));
        return text;
    }

    static bool nothing_asked(const PumpChoice& choice) {
        return std::all_of(choice.duties.begin(), choice.duties.end(), [](const Duty& duty) {
            return duty.outcome == DutyOutcome::rests || duty.outcome == DutyOutcome::nothing_asked || duty.met_without;
        });
    }

    Ink headline_ink(const PumpChoice& choice) const {
        if (choice.any_unreachable) return Ink::trouble;
        if (choice.winner() == nullptr) return nothing_asked(choice) ? Ink::plain : Ink::trouble;
        return choice.winner()->standing == Standing::meets ? Ink::good : Ink::doubt;
    }

    std::size_t targets(const PumpChoice& choice) const {
        std::size_t most = 0;
        for (const Duty& duty : choice.duties) most = std::max(most, static_cast<std::size_t>(std::count(duty.own.begin(), duty.own.end(), 1)));
        return most;
    }

    std::string headline(const PumpChoice& choice) const {
        const std::string id = words_.pump(choice.pump);
        if (choice.any_unreachable) {
            const auto stuck =
                std::find_if(choice.duties.begin(), choice.duties.end(), [](const Duty& duty) { return duty.outcome == DutyOutcome::unreachable; });
            return fmt::format("{}: no pump will do, whatever it lifts. {}", id, words_.unreachable(*stuck));
        }
        const bool without = std::any_of(choice.duties.begin(), choice.duties.end(), [](const Duty& duty) { return duty.met_without; });
        if (nothing_asked(choice) && without)
            return fmt::format("{}: the targets are met without it in {}, so there is nothing to choose by", id, where());
        if (nothing_asked(choice)) return fmt::format("{}: no target depends on it in {}, so there is nothing to choose by", id, where());
        const Candidate* winner = choice.winner();
        if (winner == nullptr) {
            const std::string needed = choice.greatest_head < 0 ? std::string() : fmt::format(" What is needed: {}", needed_words(choice));
            if (choice.candidates.empty() && choice.tried < choice.to_try)
                return fmt::format("{}: no candidate was looked at before it was stopped.{}", id, needed);
            return choice.candidates.empty()
                       ? fmt::format("{}: there is no candidate.{}", id, needed)
                       : fmt::format("{}: none of {} will do.{}", id, counted(choice.candidates.size(), "candidate", "candidates"), needed);
        }
        const std::string same = winner->present ? ", which stands there now," : "";
        const std::string met = all_of(targets(choice), "target", "targets that depend on it");
        const std::string least = choice.tried < choice.to_try ? "at a cost" : "at the least cost";
        const std::string costs = std::isfinite(winner->life_cycle_cost)
                                      ? fmt::format("{} of {} over {}", least, cost(winner->life_cycle_cost), years())
                                      : std::string("its cost is not known, as its model has no price or no power");
        if (winner->standing == Standing::perhaps) {
            return fmt::format("{}: {}{} perhaps: known only by its label, it meets the targets in a part of what the label allows; {}", id,
                               words_.put_and_speed(*winner), same, costs);
        }
        return fmt::format("{}: {}{} meets {} in {}, {}", id, words_.put_and_speed(*winner), same, met, where(), costs);
    }

    std::string where() const {
        return answer_.arrangements.size() == 1 ? fmt::format("'{}'", words_.arrangement(answer_.arrangements.front()))
                                                : fmt::format("{} arrangements", answer_.arrangements.size());
    }

    std::string needed_words(const PumpChoice& choice) const {
        const Duty& head = choice.duties[at(choice.greatest_head)];
        const Duty& flow = choice.duties[at(choice.greatest_flow)];
        if (choice.greatest_head == choice.greatest_flow) {
            return fmt::format("{} at {}{}", speech_.flow(head.flow_m3_s), speech_.head(head.head_m), in(head.arrangement));
        }
        return fmt::format("{} at {}{}, and {} at {}{}", speech_.flow(flow.flow_m3_s), speech_.head(flow.head_m), in(flow.arrangement),
                           speech_.flow(head.flow_m3_s), speech_.head(head.head_m), in(head.arrangement));
    }

    std::string in(std::int32_t arrangement) const {
        return answer_.arrangements.size() < 2 ? std::string() : fmt::format(" in '{}'", words_.arrangement(arrangement));
    }

    std::string pump(const PumpChoice& choice) const {
        std::string text = "\n" + paint_(Ink::title, fmt::format("{}: what it must do", words_.pump(choice.pump))) + '\n';
        text += duties(choice);
        if (!choice.candidates.empty()) {
            text += "\n" + paint_(Ink::title, fmt::format("{}: what would do it", words_.pump(choice.pump))) + '\n';
            text += ranking(choice);
            text += rejected(choice);
        }
        return text + routines(choice) + as_it_is(choice);
    }

    std::string duties(const PumpChoice& choice) const {
        Table table({{"arrangement", Align::left}, {"flow"}, {"head"}, {"lifts before it flows"}, {"set by", Align::left}});
        std::vector<std::string> rests, free;
        for (const Duty& duty : choice.duties) {
            const std::string name = words_.arrangement(duty.arrangement);
            switch (duty.outcome) {
                case DutyOutcome::needed:
                    table.add(
                        {name, speech_.flow(duty.flow_m3_s), speech_.head(duty.head_m), speech_.head(duty.static_head_m), words_.wish(duty.sets)});
                    break;
                case DutyOutcome::unreachable:
                    table.add({name, speech_.flow(duty.flow_m3_s), speech_.head(duty.head_m), speech_.head(duty.static_head_m),
                               "not to be had: " + words_.wish(duty.sets)},
                              Ink::trouble);
                    break;
                case DutyOutcome::rests: rests.push_back(name); break;
                case DutyOutcome::nothing_asked:
                case DutyOutcome::met_by_nothing:
                case DutyOutcome::not_run: free.push_back(name); break;
            }
        }
        std::string text = table.empty() ? std::string() : table.text(paint_);
        constexpr std::size_t kNamed = 6;
        if (!free.empty()) say(text, paint_, Ink::plain, fmt::format("Nothing is asked of it in {}", quoted_list(free, kNamed)));
        if (!rests.empty()) say(text, paint_, Ink::plain, fmt::format("It rests in {}", quoted_list(rests, kNamed)));
        for (const Duty& duty : choice.duties)
            if (duty.outcome == DutyOutcome::unreachable) say(text, paint_, Ink::trouble, words_.unreachable(duty));
        text += apart(choice);
        for (const Duty& duty : choice.duties)
            if (duty.outcome == DutyOutcome::needed && shown(choice, duty)) say(text, paint_, Ink::plain, words_.made_of(duty));
        if (choice.greatest_head >= 0) {
            say(text, paint_, Ink::plain,
                fmt::format(
                    "In all: {}. These are the least figures that meet the targets; what to add for wear, dirt and change is another decision "
                    "(common practice: 10 % of flow, 10 to 15 % of head), and nothing is added here",
                    needed_words(choice)));
        }
        return text;
    }

    /// Whether it is one of the duties that say it all, or every one is to be shown.
    bool shown(const PumpChoice& choice, const Duty& duty) const {
        return subject_.everything || &duty == &choice.duties[at(choice.greatest_head)] || &duty == &choice.duties[at(choice.greatest_flow)];
    }

    /// Missed targets that are not this pump's, each once.
    std::string apart(const PumpChoice& choice) const {
        std::vector<std::string> ids, names;
        for (const Duty& duty : choice.duties) {
            for (const settle::Target& target : duty.apart)
                if (std::find(ids.begin(), ids.end(), target.about) == ids.end()) ids.push_back(target.about);
            if (!duty.apart.empty()) names.push_back(words_.arrangement(duty.arrangement));
        }
        std::string text;
        constexpr std::size_t kNamed = 4;
        if (!ids.empty()) {
            say(text, paint_, Ink::doubt,
                fmt::format("Missed in {}, but not for this pump to mend: {}", quoted_list(names, kNamed), in_few_words(ids, kNamed)));
        }
        return text;
    }

    /// "2.1-3.0 m" over the arrangements in which it runs.
    std::string range(const Candidate& candidate, const std::function<double(const CandidatePoint&)>& of,
                      const std::function<std::string(double)>& spoken) const {
        double least = HUGE_VAL, greatest = -HUGE_VAL;
        for (const CandidatePoint& point : candidate.points) {
            const double value = point.speed > 0.0 ? of(point) : choose::kNotKnown;
            if (!std::isfinite(value)) continue;
            least = std::min(least, value);
            greatest = std::max(greatest, value);
        }
        if (!(greatest > -HUGE_VAL)) return "-";
        const std::string low = spoken(least), high = spoken(greatest);
        if (low == high) return low;
        const std::size_t gap = low.rfind(' '), other = high.rfind(' ');
        const bool same_unit = gap != std::string::npos && other != std::string::npos && low.substr(gap) == high.substr(other);
        return (same_unit ? low.substr(0, gap) : low) + "-" + high;
    }

    /// What it costs.
    std::vector<std::string> costs(const Candidate& one, std::string rank) const {
        const auto power = range(
            one, [](const CandidatePoint& p) { return p.pump.power_w; }, [&](double v) { return speech_.power(v); });
        const std::string energy = std::isfinite(one.energy_kwh_year) ? fmt::format("{:.0f} kWh", one.energy_kwh_year) : "-";
        return {std::move(rank), words_.put(one),          words_.speed(one), power, energy, cost(one.energy_cost_year),
                cost(one.price), cost(one.life_cycle_cost)};
    }

    /// How it runs.
    std::vector<std::string> runs(const Candidate& one, std::string rank) const {
        const auto flow = range(
            one, [](const CandidatePoint& p) { return p.pump.flow_m3_s; }, [&](double v) { return speech_.flow(v); });
        const auto head = range(
            one, [](const CandidatePoint& p) { return p.pump.head_m; }, [&](double v) { return speech_.head(v); });
        const auto best = range(
            one, [](const CandidatePoint& p) { return p.pump.best_point_ratio; }, [](double v) { return Speech::share(v); });
        const auto efficiency = range(
            one, [](const CandidatePoint& p) { return p.pump.efficiency; }, [](double v) { return Speech::share(v); });
        return {std::move(rank),
                words_.put(one),
                flow,
                head,
                efficiency,
                best,
                std::isfinite(one.least_npsh_spare_m) ? speech_.head(one.least_npsh_spare_m) : "-"};
    }

    std::string ranking(const PumpChoice& choice) const {
        Table money({{""}, {"pump", Align::left}, {"speed"}, {"power"}, {"energy a year"}, {"costs a year"}, {"price"}, {"over " + years()}});
        Table work({{""}, {"pump", Align::left}, {"flow"}, {"head"}, {"efficiency"}, {"of best flow"}, {"suction to spare"}});
        constexpr std::size_t kDoubted = 3;
        std::string doubts;
        std::vector<std::string> no_npsh;
        std::size_t rank = 0, left_out = 0;
        for (const Candidate& one : choice.candidates) {
            if (one.standing == Standing::rejected || one.standing == Standing::not_run) continue;
            ++rank;
            if (rank > kShownRanks && !subject_.everything) {
                ++left_out;
                continue;
            }
            const bool perhaps = one.standing == Standing::perhaps;
            const Ink ink = perhaps || !one.doubts.empty() ? Ink::doubt : Ink::plain;
            money.add(costs(one, std::to_string(rank)), ink);
            work.add(runs(one, std::to_string(rank)), ink);
            if (perhaps)
                say(doubts, paint_, Ink::doubt,
                    fmt::format("{}: perhaps; at one end of what its label allows, {}", name(one), words_.reason(one.reason)));
            if (rank > kDoubted && !subject_.everything) continue;
            for (const choose::DoubtAt& doubt : one.doubts) {
                const std::string& model = words_.model(one.model);
                if (doubt.doubt != choose::Doubt::npsh_unknown)
                    say(doubts, paint_, Ink::doubt, fmt::format("{}: {}", name(one), words_.doubt(doubt)));
                else if (std::find(no_npsh.begin(), no_npsh.end(), model) == no_npsh.end())
                    no_npsh.push_back(model);
            }
        }
        std::string text = money.empty() ? std::string() : money.text(paint_) + "\n" + work.text(paint_);
        constexpr std::size_t kNamed = 6;
        if (!no_npsh.empty())
            say(doubts, paint_, Ink::doubt,
                fmt::format("What suction head (NPSH) is needed is not said of {}: ask the maker", listed(no_npsh, kNamed)));
        if (left_out > 0) say(text, paint_, Ink::quiet, fmt::format("{} more would do; --all shows them", left_out));
        return text + doubts;
    }

    std::string name(const Candidate& one) const {
        return one.mode == choose::SpeedMode::as_arranged ? words_.put(one) : fmt::format("{} at {}", words_.put(one), words_.speed(one));
    }

    std::string rejected(const PumpChoice& choice) const {
        std::string text;
        bool any = false;
        for (const Candidate& one : choice.candidates) {
            if (one.standing != Standing::rejected) continue;
            if (!any) text += "  Rejected:\n";
            any = true;
            text += wrapped("  - ", with_full_stop(fmt::format("{}: {}", name(one), words_.reason(one.reason))));
        }
        return text;
    }

    std::string routines(const PumpChoice& choice) const {
        std::string text;
        for (const Candidate& one : choice.candidates) {
            if (!one.followed || one.standing == Standing::rejected || one.beds.empty()) continue;
            std::vector<std::string> late;
            for (const choose::BedInTime& bed : one.beds)
                if (!bed.met) late.push_back(fmt::format("{} ('{}')", words_.bed(bed), layout_.routines[at(bed.routine)].name));
            constexpr std::size_t kNamed = 2;
            say(text, paint_, late.empty() ? Ink::plain : Ink::doubt,
                late.empty() ? fmt::format("With {} the beds fill and drain in time in the routines, {} in all", name(one),
                                           counted(one.beds.size(), "time", "times"))
                             : fmt::format("With {}: {}", name(one), listed(late, kNamed)));
        }
        return text;
    }

    /// What stands there now, unless it is the winner.
    std::string as_it_is(const PumpChoice& choice) const {
        const Candidate& now = choice.as_it_is;
        if (now.standing == Standing::not_run || (choice.winner() != nullptr && choice.winner()->present && choice.winner()->mode == now.mode))
            return {};
        std::string text;
        const std::string what = fmt::format("What stands there now, {}", words_.put(now));
        if (now.standing == Standing::rejected) {
            say(text, paint_, Ink::plain, fmt::format("{}, will not do: {}", what, words_.reason(now.reason)));
        } else if (std::isfinite(now.energy_cost_year)) {
            say(text, paint_, Ink::plain, fmt::format("{}, uses {:.0f} kWh a year, {}", what, now.energy_kwh_year, cost(now.energy_cost_year)));
        }
        return text;
    }

    std::string together() const {
        const choose::Together& all = answer_.together;
        std::string text;
        if (!all.done) return text;
        const bool every = std::all_of(answer_.pumps.begin(), answer_.pumps.end(),
                                       [](const PumpChoice& one) { return one.candidates.empty() || one.winner() != nullptr; });
        if (!every) return text;
        const std::string anew = all.chosen_anew ? " (each was chosen anew with the others in place)" : "";
        if (all.all_met) {
            say(text, paint_, Ink::good,
                fmt::format("All of them in at once: every target is still met{}; {} to buy, {:.0f} kWh a year, {} over {}", anew, cost(all.price),
                            all.energy_kwh_year, cost(all.life_cycle_cost), years()));
            return text;
        }
        for (const auto& one : all.arrangements) {
            if (one.missed.empty()) continue;
            say(text, paint_, Ink::trouble,
                fmt::format("All of them in at once{}, {}{}", anew, words_.target(one.missed.front()), in(one.arrangement)));
            break;
        }
        return text;
    }

    std::string hours() const {
        std::vector<std::string> parts;
        for (const std::int32_t a : answer_.arrangements) {
            const double hours = answer_.costing.hours_a_year[at(a)];
            parts.push_back(fmt::format("'{}' {:.0f} h", words_.arrangement(a), hours));
        }
        constexpr std::size_t kNamed = 8;
        return "Hours a year: " + listed(parts, kNamed) + ".";
    }

    const Subject& subject_;
    const layout::Layout& layout_;
    const Speech& speech_;
    const choose::PumpsAnswer& answer_;
    PumpsWords words_;
    Paint paint_;
};

}  // namespace

std::string pumps_text(const PumpsScene& scene) { return PumpsText(scene).whole(); }

}  // namespace ebb::cli
