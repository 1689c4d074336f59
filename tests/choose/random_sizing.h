#pragma once
// Random small sizing problems, and their optimum by brute force: plain loops over every design, each solved by Farm::solve as `flows` would, and
// judged here by the answer's own targets and by figures. Nothing of the search, of the evaluator or of its judge is used.

#include <cmath>
#include <cstdint>
#include <string>
#include <vector>

#include "netfiles/reader.h"
#include "solver/choose/random.h"
#include "solver/choose/sizing.h"
#include "solver/settle/farm.h"

namespace sizing_test {

using ebb::choose::Design;

struct Brute {
    bool found = false;
    Design design;
    double cost = 0.0;
    int allowed = 0, designs = 0;
};

/// Everything an allowed design must keep, read off one answer.
inline bool keeps_all(const ebb::choose::SizingProblem& problem, const ebb::settle::Answer& answer) {
    using ebb::settle::State;
    if (answer.state != State::settled && answer.state != State::given_levels && answer.state != State::cycles) return false;
    for (const auto& target : answer.targets)
        if (target.asked && !target.met) return false;
    for (const auto& vessel : answer.vessels)
        if (vessel.spill_m3_s > 1e-9 || vessel.spilled_m3 > 1e-6) return false;
    for (const auto& pump : answer.pumps)
        if (pump.running && pump.intake_bare) return false;
    for (const auto& siphon : answer.siphons)
        if (answer.state != State::given_levels && (siphon.dribbles || siphon.runs_for_ever)) return false;
    for (const auto& choice : problem.choices)
        for (const std::int32_t p : choice.pipes) {
            const auto& pipe = answer.pipes[static_cast<std::size_t>(p)];
            const auto& drawn = problem.layout->pipes[static_cast<std::size_t>(p)];
            const auto& limits = problem.layout->limits;
            constexpr double kSame = 1.0 + 1e-9;
            if (drawn.gravity && !pipe.drowned) {
                if (pipe.flow_m3_s > 1e-9 && pipe.fill_ratio > limits.greatest_drain_fill * kSame) return false;
                continue;
            }
            const bool suction = drawn.to.ref.kind == ebb::layout::Kind::pump;
            const double most =
                suction ? std::fmin(limits.greatest_suction_velocity_m_s, limits.greatest_velocity_m_s) : limits.greatest_velocity_m_s;
            if (std::abs(pipe.velocity_m_s) > most * kSame) return false;
        }
    return true;
}

/// `problem.layout` says all its limits.
inline Brute brute_force(const ebb::choose::SizingProblem& problem) {
    Brute best;
    Design design(problem.choices.size(), 0);
    for (bool more = true; more;) {
        ebb::layout::Layout layout = *problem.layout;
        double cost = 0.0;
        for (std::size_t c = 0; c < design.size(); ++c)
            for (const std::int32_t p : problem.choices[c].pipes) {
                const auto& size = layout.sold_series[static_cast<std::size_t>(problem.choices[c].series)].sizes[design[c]];
                auto& pipe = layout.pipes[static_cast<std::size_t>(p)];
                pipe.bore_m = size.bore_m;
                cost += size.price_per_metre * pipe.length_m;
            }
        ebb::settle::Options options;
        options.bands = options.ledgers = false;
        ebb::settle::Farm farm(layout, options);
        bool allowed = true;
        for (const std::int32_t a : problem.arrangements) {
            const auto answer = farm.solve(a);
            allowed = allowed && keeps_all(problem, answer);
            if (!allowed) break;
            double power = 0.0;
            for (const auto& pump : answer.pumps) power += pump.running ? pump.power_w : 0.0;
            cost += problem.costing.hours_a_year[static_cast<std::size_t>(a)] * power / 1000.0 * problem.costing.price_per_kwh *
                    problem.costing.worth_of_a_year;
        }
        ++best.designs;
        if (allowed) ++best.allowed;
        if (allowed && (!best.found || cost < best.cost * (1.0 - 1e-9))) {
            best.found = true;
            best.design = design;
            best.cost = cost;
        }
        more = false;
        for (std::size_t c = design.size(); c-- > 0 && !more;) {
            more = design[c] + 1U < problem.choices[c].cost.size();
            design[c] = static_cast<std::uint8_t>(more ? design[c] + 1 : 0);
        }
    }
    return best;
}

inline std::string number(double value) { return std::to_string(value); }

/// Sizes with rising bores and prices that rise with them, but not evenly.
inline std::string series(ebb::choose::Random& random, int sizes, double least_m, double growth) {
    std::string text = "<pipe-series name=\"sold\">";
    double bore = least_m, price = 1.0 + random.share();
    for (int s = 0; s < sizes; ++s) {
        text += "<size name=\"s" + std::to_string(s) + "\" bore=\"" + number(bore) + " m\" price-per-metre=\"" + number(price) + "\"/>";
        bore *= growth * (0.9 + 0.25 * random.share());
        price *= 1.2 + random.share();
    }
    return text + "</pipe-series>";
}

/// A pond, tees that take water, a tree of pipes and one or two more that close loops; two arrangements, one with a loop shut. The pressures
/// wanted are near those of some design in the middle, so that the border of what is allowed runs through the sizes.
inline std::string mains(std::uint64_t seed, int choices, int sizes) {
    ebb::choose::Random random(seed);
    const int tees = 3 + static_cast<int>(random.below(4));
    std::string text =
        "<layout name=\"mains\"><pond id=\"P\" level=\"" + number(20.0 + 20.0 * random.share()) + " m\"/>" + series(random, sizes, 0.03, 1.4);
    for (int t = 1; t <= tees; ++t)
        text += "<tee id=\"T" + std::to_string(t) + "\" elevation=\"" + number(3.0 * random.share()) + " m\" takes=\"" +
                number(1.0 + 5.0 * random.share()) + " m3/h\" least-pressure=\"" + number(6.0 + 10.0 * random.share()) + " m\"/>";
    const int loops = 1 + static_cast<int>(random.below(2));
    int pipe = 0;
    const auto add = [&](const std::string& from, const std::string& to, const std::string& inside) {
        const bool choose = pipe < choices;
        const bool grouped = choose && random.share() < 0.15;
        text += "<pipe id=\"p" + std::to_string(++pipe) + "\" from=\"" + from + "\" to=\"" + to + "\" length=\"" +
                number(20.0 + 200.0 * random.share()) + " m\" size=\"s" + std::to_string(sizes - 1) + "\" series=\"sold\"" +
                (choose ? grouped ? " choose=\"twins\"" : " choose=\"yes\"" : "") + ">" + inside + "</pipe>";
    };
    for (int t = 1; t <= tees; ++t) {
        const auto before = random.below(static_cast<std::size_t>(t));
        add(before == 0 ? "P" : "T" + std::to_string(before), "T" + std::to_string(t), "");
    }
    for (int l = 0; l < loops; ++l) {
        const auto one = 1 + random.below(static_cast<std::size_t>(tees));
        const auto other = 1 + random.below(static_cast<std::size_t>(tees));
        if (one != other) add("T" + std::to_string(one), "T" + std::to_string(other), "<valve id=\"V" + std::to_string(l) + "\" kind=\"gate\"/>");
    }
    text += "<arrangement name=\"all\"/>";
    if (text.find("id=\"V0\"") != std::string::npos) text += "<arrangement name=\"shut\"><close valve=\"V0\"/></arrangement>";
    return text + "<limits velocity=\"" + number(1.2 + 1.5 * random.share()) + " m/s\" suction-velocity=\"1.2 m/s\" drain-fill=\"75 %\"/></layout>";
}

/// A sump, a pump with its power, two tanks fed through a tee, overflows and drains home; by day at full speed, by night slower and one tank shut.
inline std::string farm(std::uint64_t seed, int sizes) {
    ebb::choose::Random random(seed);
    const double bore = 0.016 + 0.006 * random.share();
    std::string text = R"(<layout name="farm"><sump id="FS" floor="-0.6 m" rim="0.3 m" length="1.6 m" width="1.2 m" start-depth="0.6 m"/>
      <pump-model name="m"><point flow="0 m3/h" head=")" +
                       number(4.0 + 3.0 * random.share()) + R"( m" power="60 W"/><point flow="3 m3/h" head="3 m" power="95 W"/>
      <point flow="7 m3/h" head="0.5 m" power="120 W"/></pump-model><pump id="PU" in="FS" intake-height="0.08 m" model="m" check-valve="yes"/>)" +
                       series(random, sizes, bore, 1.3) + R"(<tee id="J" elevation="0.2 m"/>)";
    for (const char* tank : {"A", "B"})
        text += std::string("<tank id=\"") + tank + "\" floor=\"0.4 m\" rim=\"1.4 m\" diameter=\"1.2 m\" start-depth=\"0.9 m\" inflow=\"" +
                number(8.0 + 14.0 * random.share()) + " l/min\"/><standpipe id=\"O" + tank + "\" in=\"" + tank +
                "\" bore=\"0.06 m\"><insert name=\"i\" lip=\"0.9 m\"/></standpipe>";
    const auto length = [&random] { return number(2.0 + 9.0 * random.share()) + " m"; };
    text += "<pipe id=\"rise\" from=\"PU\" to=\"J\" length=\"" + length() + "\" series=\"sold\" choose=\"yes\"/>";
    for (const std::string tank : {"A", "B"}) {
        text += "<pipe id=\"feed" + tank + "\" from=\"J\" to=\"" + tank + "\" to-height=\"0.95 m\" length=\"" + length() +
                "\" series=\"sold\" choose=\"yes\"><valve id=\"V" + tank + "\" kind=\"ball\"/></pipe>";
        text += "<drain id=\"home" + tank + "\" from=\"O" + tank + "\" to=\"FS\" to-height=\"0.7 m\" length=\"" + length() +
                "\" series=\"sold\" choose=\"homes\"/>";
    }
    return text + R"(<arrangement name="day"/><arrangement name="night"><run pump="PU" speed="85 %"/><close valve="VB"/></arrangement>
      <economy price-per-kwh=")" +
           number(0.1 + 0.4 * random.share()) + R"(" years="8" interest="3 %"><hours arrangement="day" a-year="5000 h"/>
      <hours arrangement="night" a-year="3760 h"/></economy><limits velocity="1.5 m/s" suction-velocity="1.2 m/s" drain-fill="75 %"/></layout>)";
}

}  // namespace sizing_test
