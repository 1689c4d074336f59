// One design solved warm: the same as the full solve, whatever was solved before, without allocation; and the limits, each provoked.

#include <doctest/doctest.h>

#include <cmath>
#include <string>

#include "solver/choose/margins.h"
#include "tests/choose/published_networks.h"
#include "tests/choose/random_sizing.h"
#include "tests/counted_allocations.h"
#include "tests/near.h"

using namespace ebb;

namespace {

/// The layout stays with the problem that points into it.
struct Posed {
    netfiles::ReadResult read;
    choose::SizingProblem problem;
    explicit Posed(const std::string& text) : read(netfiles::read_layout_text(text, "posed.xml")) {
        for (const layout::Problem& wrong : read.problems) MESSAGE(wrong.says);
        REQUIRE(read.good());
        problem = choose::sizing_problem_of(read.layout, choose::arrangements_that_count(read.layout));
    }
    Posed(const Posed&) = delete;
    Posed& operator=(const Posed&) = delete;
};

choose::Design random_design(const choose::SizingProblem& problem, choose::Random& random) {
    choose::Design design;
    for (const choose::Choice& choice : problem.choices) design.push_back(static_cast<std::uint8_t>(random.below(choice.cost.size())));
    return design;
}

void check_same(const choose::Verdict& one, const choose::Verdict& other) {
    CHECK(one.solved == other.solved);
    CHECK(one.allowed == other.allowed);
    CHECK(one.pipes_cost == other.pipes_cost);
    if (!one.solved || !other.solved) return;
    CHECK(one.energy_a_year_kwh == ebb::test::near(other.energy_a_year_kwh).epsilon(1e-7));
    CHECK(one.total_cost == ebb::test::near(other.total_cost).epsilon(1e-7));
    CHECK(std::abs(one.worst_margin - other.worst_margin) <= 1e-6 * (1.0 + std::abs(one.worst_margin)));
    CHECK(std::abs(one.missed - other.missed) <= 1e-6 * (1.0 + one.missed));
}

/// Two vessels on different levels joined by a chosen pipe: the simplest farm for one limit.
std::string one_pipe(const std::string& limits, const std::string& kind, const std::string& ends) {
    return R"(<layout name="one"><pond id="UP" level="3 m"/><pond id="LOW" level="0 m"/>
      <pipe-series name="sold"><size name="a" bore="40 mm" price-per-metre="2"/><size name="b" bore="80 mm" price-per-metre="5"/></pipe-series>)" +
           ("<" + kind + " id=\"x\" " + ends + " length=\"10 m\" series=\"sold\" choose=\"yes\"/>") + "<limits " + limits + "/></layout>";
}

const choose::Judgement* find(const choose::Verdict& verdict, const std::string& about, bool at_most) {
    for (const choose::Judgement& one : verdict.judgements)
        if (one.about == about && one.at_most == at_most && one.is_limit) return &one;
    return nullptr;
}

}  // namespace

TEST_SUITE("sizing evaluator") {
    TEST_CASE("warm, after whatever designs, as the full solve") {
        for (const std::uint64_t seed : {1U, 2U, 3U, 4U, 5U, 6U}) {
            CAPTURE(seed);
            const Posed posed(seed % 2 == 0 ? sizing_test::mains(seed, 6, 4) : sizing_test::farm(seed, 4));
            choose::Evaluator warm(posed.problem);
            choose::Random random(seed);
            for (int i = 0; i < 12; ++i) {
                const choose::Design design = random_design(posed.problem, random);
                choose::Evaluator fresh(posed.problem);
                const choose::Verdict direct = warm.evaluate(design);
                check_same(direct, fresh.evaluate(design));
                check_same(direct, fresh.explain(design));
            }
        }
    }

    TEST_CASE("a network without vessels is judged without allocation") {
        const published::Network net = published::hanoi();
        layout::Layout layout = published::layout_of(net, {10.667});
        REQUIRE(layout::validate(layout).empty());
        const choose::SizingProblem problem = choose::sizing_problem_of(layout, choose::arrangements_that_count(layout));
        choose::Evaluator evaluator(problem);
        choose::Design design = published::hanoi_6081(net);
        evaluator.evaluate(design);
        const long before = allocations;
        for (std::size_t c = 0; c < design.size(); ++c) {
            design[c] = static_cast<std::uint8_t>(design[c] > 0 ? design[c] - 1 : design[c] + 1);
            evaluator.evaluate(design);
        }
        CHECK(allocations == before);
    }

    TEST_CASE("velocity, greatest and least") {
        const Posed posed(one_pipe("velocity=\"2 m/s\" least-velocity=\"1.9 m/s\"", "pipe", "from=\"UP\" to=\"LOW\""));
        choose::Evaluator evaluator(posed.problem);
        const choose::Verdict verdict = evaluator.explain({0});
        const choose::Judgement *most = find(verdict, "x", true), *least = find(verdict, "x", false);
        REQUIRE(most != nullptr);
        REQUIRE(least != nullptr);
        // 3 m of head over (1.5 + f L/D) velocity heads: 3.1 m/s with f = 0.019, faster than both
        CHECK(most->got == ebb::test::near(3.1).epsilon(0.05));
        CHECK(most->wanted == 2.0);
        CHECK_FALSE(most->met);
        CHECK(most->margin == ebb::test::near(2.0 / most->got - 1.0));
        CHECK(least->met);
        CHECK(verdict.missed == ebb::test::near(-most->margin));
        CHECK_FALSE(verdict.allowed);
    }

    TEST_CASE("suction lines: what leads to a pump, through tees, and nothing behind it") {
        const std::string text = R"(<layout name="s"><pond id="LOW" level="1 m"/><pond id="UP" level="3 m"/>
          <pump-model name="m"><point flow="0 m3/h" head="8 m" power="100 W"/><point flow="8 m3/h" head="2 m" power="150 W"/></pump-model>
          <pump id="PU" elevation="0 m" model="m"/><tee id="A" elevation="0 m"/><tee id="B" elevation="0 m"/>
          <pipe-series name="sold"><size name="a" bore="40 mm" price-per-metre="2"/></pipe-series>
          <pipe id="in-1" from="LOW" to="A" length="1 m" series="sold" choose="yes"/><pipe id="in-2" from="A" to="PU" length="1 m" series="sold" choose="yes"/>
          <pipe id="out-1" from="PU" to="B" length="1 m" series="sold" choose="yes"/><pipe id="out-2" from="B" to="UP" length="1 m" series="sold" choose="yes"/>
          </layout>)";
        const Posed posed(text);
        CHECK(posed.problem.suction == std::vector<std::uint8_t>{1, 1, 0, 0});
        CHECK(choose::greatest_velocity_m_s(posed.problem, 0) == 1.2);
        CHECK(choose::greatest_velocity_m_s(posed.problem, 2) == 1.5);
        // energy of the year by hand: power of the answer, 8760 h, ten years at 0.30
        choose::Evaluator evaluator(posed.problem);
        const choose::Verdict verdict = evaluator.evaluate({0, 0, 0, 0});
        settle::Farm farm(posed.read.layout);
        const double power = farm.solve(0).pumps.at(0).power_w;
        CHECK(verdict.energy_a_year_kwh == ebb::test::near(8.76 * power).epsilon(1e-9));
        CHECK(verdict.total_cost == ebb::test::near(8.0 + 8.76 * power * 0.30 * 10.0).epsilon(1e-9));
    }

    TEST_CASE("margins: just met is 0, a tenth more flow 0.1, no flow -1, a vessel that keeps no water has all there is to spare") {
        const auto margin = [](const char* quantity, bool at_most, double wanted, double got) {
            settle::Target target;
            target.quantity = quantity;
            target.at_most = at_most;
            target.wanted = wanted;
            target.got = got;
            return choose::margin_of(target);
        };
        CHECK(margin("inflow_m3_s", false, 2e-3, 2.2e-3) == ebb::test::near(0.1));
        CHECK(margin("turnover_s", true, 3600.0, 3600.0 / 1.1) == ebb::test::near(0.1));
        CHECK(margin("turnover_s", true, 3600.0, settle::kUnknown) == -1.0);
        CHECK(margin("inflow_m3_s", false, 2e-3, settle::kUnknown) == -1.0);
        CHECK(margin("turnover_s", true, 3600.0, 0.0) == HUGE_VAL);  // nothing is divided by the nothing that stands in it
        CHECK(margin("pressure_m", false, 4.0, 5.0) == ebb::test::near(0.25));
        CHECK(margin("pressure_m", false, 0.5, 0.75) == ebb::test::near(0.25));
        CHECK(margin("pressure_m", false, 4.0, settle::kUnknown) == -1.0);
    }

    TEST_CASE("what is to spare counts for targets alone") {
        const published::Network net = published::two_loops();
        layout::Layout layout = published::layout_of(net, {10.667});
        REQUIRE(layout::validate(layout).empty());
        choose::SizingProblem problem = choose::sizing_problem_of(layout, choose::arrangements_that_count(layout));
        const choose::Design design = published::two_loops_419(net);
        for (const auto& [margin, allowed] : {std::pair(0.0148, true), std::pair(0.0149, false), std::pair(-0.5, true)}) {
            problem.least_margin = margin;  // the worst node has 0.4447 m over 30 m: 0.01482
            choose::Evaluator evaluator(problem);
            CHECK(evaluator.evaluate(design).allowed == allowed);
        }
    }
}
