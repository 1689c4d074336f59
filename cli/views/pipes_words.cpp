#include "cli/views/pipes_words.h"

#include <fmt/format.h>

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
    return fmt::format("{} {} than what is drawn", money(std::abs(saved)), saved > 0.0 ? "less" : "more");
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
    constexpr double kPercent = 100.0;
    return fmt::format("No choice can cost less than {}: at most {:.2g} % is left to gain{}", money(answer_.lower_bound), kPercent * left,
                       answer_.bound.nodes < 2 ? " (--prove works longer on it)." : ".");
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
