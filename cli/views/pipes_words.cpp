#include "cli/views/pipes_words.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "cli/views/money.h"
#include "cli/words.h"

namespace ebb::cli {

namespace {

std::size_t at(std::int32_t index) { return static_cast<std::size_t>(index); }

settle::Target as_target(const choose::Judgement& one) {
    settle::Target target;
    target.about = one.about;
    target.quantity = one.quantity;
    target.at_most = one.at_most;
    target.wanted = one.wanted;
    target.got = one.got;
    target.met = one.met;
    return target;
}

/// "1,234,567"; "6.3e14" beyond.
std::string count_words(double count) {
    constexpr double kSpoken = 1e9;
    return count < kSpoken ? money(std::round(count) * 1000.0, "").substr(0, money(std::round(count) * 1000.0, "").size() - 4)
                           : fmt::format("{:.2g}", count);
}

}  // namespace

const std::string& PipesWords::arrangement(std::int32_t index) const { return layout_.arrangements[at(index)].name; }

const std::string& PipesWords::size_name(const choose::Choice& choice, std::size_t option) const {
    return layout_.sold_series[at(choice.series)].sizes[option].name;
}

std::string PipesWords::money(double amount) const { return cli::money(amount, layout_.economy.currency); }

std::string PipesWords::in_arrangement(std::int32_t index) const {
    return answer_.problem.arrangements.size() < 2 || index < 0 ? std::string() : fmt::format(" in '{}'", arrangement(index));
}

std::string PipesWords::judgement(const choose::Judgement& one) const {
    const std::string where = in_arrangement(one.arrangement);
    if (!one.is_limit) return sentence_of(as_target(one), speech_) + where;
    if (one.quantity == "inflow_m3_s")
        return fmt::format("{} gets {}{}, wanted {} or more to fill in time", one.about, speech_.flow(one.got), where, speech_.flow(one.wanted));
    if (one.quantity == "intake_bare") return fmt::format("{} draws air: its intake stands out of the water{}", one.about, where);
    if (one.quantity == "siphon") return fmt::format("{} never starts, or never stops{}", one.about, where);
    if (one.quantity == "spill_m3_s") return fmt::format("{} runs over its rim at {}{}", one.about, speech_.flow(one.got), where);
    if (one.quantity == "spilled_m3")
        return fmt::format("{} loses {} over its rim on the way from the start depths{}", one.about, speech_.volume(one.got), where);
    if (one.quantity == "fill_ratio")
        return fmt::format("{} runs {} full{}, wanted {} or less", one.about, Speech::share(one.got), where, Speech::share(one.wanted));
    return fmt::format("the water in {} runs at {}{}, wanted {} or {}", one.about, speech_.velocity(one.got), where, speech_.velocity(one.wanted),
                       one.at_most ? "less" : "more");
}

std::string PipesWords::against_drawn() const {
    const double saved = answer_.drawn.total_cost - answer_.result.verdict.total_cost;
    if (!std::isfinite(saved)) return "what is drawn has no known price";
    constexpr double kNothing = 0.005;
    if (std::abs(saved) < kNothing) return "as much as what is drawn";
    const auto& beds = answer_.times.drawn;
    const bool late = std::any_of(beds.begin(), beds.end(), [](const choose::BedInTime& one) { return !one.met; });
    return fmt::format("{} {} than what is drawn{}", money(std::abs(saved)), saved > 0.0 ? "less" : "more",
                       answer_.drawn.allowed && !late ? "" : " (which misses what is wanted)");
}

std::string PipesWords::effort() const {
    const double all = choose::number_of_designs(answer_.problem);
    const auto tried = static_cast<double>(answer_.result.evaluations);
    if (answer_.result.exact && tried >= all) return fmt::format("all {} designs were looked at", count_words(all));
    if (answer_.result.exact) return fmt::format("{} of {} designs were looked at, in the order of their cost", count_words(tried), count_words(all));
    return fmt::format("{} designs were tried, of {}", count_words(tried), count_words(all));
}

std::string PipesWords::bound() const {
    if (!answer_.result.found) return {};
    const double cost = answer_.result.verdict.total_cost;
    if (answer_.proven) return "No choice costs less: that is proved.";
    if (!answer_.bounded || !(answer_.lower_bound > 0.0)) return "How much cheaper another choice could be is not known.";
    const double left = (cost - answer_.lower_bound) / cost;
    constexpr double kPercent = 100.0, kMuch = 0.01;
    return fmt::format("No choice can cost less than {}: at most {:.2g} % is left to gain{}", money(answer_.lower_bound), kPercent * left,
                       left > kMuch && !proving_ && !answer_.result.exact ? " (--prove works longer on it)." : ".");
}

std::string PipesWords::bed(const choose::BedInTime& bed) const {
    const std::string does = bed.fills ? "fill" : "drain";
    const std::string& id = layout_.vessels[at(bed.vessel)].id;
    const std::string got =
        std::isfinite(bed.got_s) ? fmt::format("{} {}s in {}", id, does, speech_.duration(bed.got_s)) : fmt::format("{} does not {}", id, does);
    return fmt::format("{} in the routine '{}', wanted {} or less", got, layout_.routines[at(bed.routine)].name, speech_.duration(bed.wanted_s));
}

std::vector<Finding> PipesWords::times() const {
    const choose::TimesKept& times = answer_.times;
    std::vector<Finding> found;
    const auto say = [&](Weight weight, const char* code, const std::string& about, std::string says) {
        found.push_back({weight, code, about, std::move(says), {}});
    };
    if (!times.asked) return found;
    for (const choose::BedInTime& one : times.chosen)
        if (!one.met) {
            const bool no_help = one.fills && times.rounds > 0;
            say(Weight::trouble, one.fills ? "fills-late" : "drains-late", layout_.vessels[at(one.vessel)].id,
                bed(one) + (no_help ? "; no sizes were found with which all beds fill in time" : ""));
        }
    if (!times.followed) {
        say(Weight::doubt, "times-not-followed", "",
            layout_.routines.empty()
                ? "Beds are to fill or drain in a time, and the layout has no routine that waters them by turns: that is not looked at"
                : "Beds are to fill or drain in a time, and no routine was followed: that is not looked at");
        return found;
    }
    std::vector<std::string> names;
    for (const std::int32_t vessel : times.not_seen) names.push_back(layout_.vessels[at(vessel)].id);
    constexpr std::size_t kNamed = 4;
    if (!names.empty())
        say(Weight::doubt, "times-not-seen", names.front(),
            fmt::format("No routine waters {} by turns: whether {} in time is not looked at", in_few_words(names, kNamed),
                        names.size() == 1 ? "it fills and drains" : "they fill and drain"));
    return found;
}

std::vector<Finding> PipesWords::findings() const {
    std::vector<Finding> all;
    const auto known = [&all](const Finding& one) {
        return std::any_of(all.begin(), all.end(), [&one](const Finding& other) { return other.code == one.code && other.about == one.about; });
    };
    for (const settle::Answer& solved : answer_.solved)
        for (Finding& one : cli::findings(answer_.sized, solved, speech_)) {
            if ((one.weight != Weight::trouble && one.code != "drain-overloaded") || known(one)) continue;
            one.says += in_arrangement(solved.arrangement);
            all.push_back(std::move(one));
        }
    constexpr std::size_t kNamed = 4;
    std::vector<std::string> narrow;
    for (const choose::NarrowDrain& one : answer_.narrow)
        narrow.push_back(fmt::format("{} ({}, after the {} of {})", layout_.pipes[at(one.drain)].id, speech_.bore(one.bore_m),
                                     speech_.bore(one.after_bore_m), one.after));
    if (!narrow.empty())
        all.push_back({Weight::doubt,
                       "narrow-drain",
                       layout_.pipes[at(answer_.narrow.front().drain)].id,
                       fmt::format("Narrower inside than what lets water into {}, and a drain never is, by common practice (solids, roots): {}",
                                   narrow.size() == 1 ? "it" : "them", listed(narrow, kNamed)),
                       {}});
    return all;
}

std::vector<const choose::Judgement*> PipesWords::missed(const choose::Verdict& verdict, bool limits) const {
    std::vector<const choose::Judgement*> all;
    for (const choose::Judgement& one : verdict.judgements)
        if (!one.met && one.is_limit == limits) all.push_back(&one);
    return all;
}

/// What is missing, for a target that the largest sizes miss.
std::string PipesWords::needed(const choose::Judgement& one) const {
    if (one.quantity == "pressure_m")
        return fmt::format("{} more head is needed where the water comes from, or a lower {}", speech_.head(one.wanted - one.got), one.about);
    if (one.quantity == "inflow_m3_s")
        return fmt::format("{} more must come to it than the pumps and levels give", speech_.flow(one.wanted - one.got));
    if (one.quantity == "turnover_s") return "more must come to it than the pumps and levels give";
    return {};
}

std::vector<std::string> PipesWords::infeasible() const {
    std::vector<std::string> says;
    const choose::SizingResult& loose = answer_.without_limits;
    if (loose.found) {
        std::string begin = fmt::format("The targets can be met, but not within the limits. With the cheapest sizes that meet them ({}), ",
                                        money(loose.verdict.total_cost));
        for (const choose::Judgement* one : missed(loose.verdict, true)) {
            says.push_back(begin + judgement(*one));
            begin = "With them, ";
        }
        return says;
    }
    const choose::Verdict& nearest = loose.design.empty() ? answer_.result.verdict : loose.verdict;
    if (!nearest.solved && nearest.unsolved >= 0) {
        says.push_back(fmt::format("'{}' has no settled state with any sizes tried{}{}", arrangement(nearest.unsolved),
                                   nearest.why.empty() ? "" : ": ", nearest.why));
    }
    for (const bool limit : {false, true})
        for (const choose::Judgement* one : missed(nearest, limit)) {
            const std::string more = needed(*one);
            says.push_back(fmt::format("With the sizes that come nearest, {}{}{}", judgement(*one), more.empty() ? "" : "; ", more));
        }
    return says;
}

}  // namespace ebb::cli
