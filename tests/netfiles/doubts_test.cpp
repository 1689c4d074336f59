// Each doubt: a layout without it, one change that brings it, and nothing else brought by that change. The thresholds are those of the
// sources named in solver/layout/doubts_*.cpp (plumbing codes, common practice); the unit ratios are NIST SP 811's.
#include <doctest/doctest.h>
#include <fmt/core.h>

#include <algorithm>
#include <string>
#include <vector>

#include "netfiles/reader.h"
#include "solver/layout/validate.h"

using namespace ebb;

namespace {

const std::string kFarm = R"(<layout name="a small farm">
  <site water-temperature="22 degC"/>
  <tank id="T1" floor="0.60 m" rim="1.70 m" diameter="1.5 m" start-depth="0.9 m" turnover="60 min"/>
  <sump id="S1" floor="-0.60 m" rim="0.30 m" length="1.2 m" width="0.9 m" start-depth="0.55 m" least-depth="0.2 m"/>
  <bed id="B1" floor="0.70 m" rim="1.05 m" length="2.4 m" width="1.2 m" void-fraction="0.42"/>
  <bed id="B2" floor="0.70 m" rim="1.05 m" length="2.4 m" width="1.2 m" void-fraction="0.42"/>
  <bed id="B3" floor="0.70 m" rim="1.05 m" length="2.4 m" width="1.2 m" void-fraction="0.42"/>
  <pump-model name="small">
    <point flow="0 m3/h" head="4 m" power="60 W"/><point flow="3 m3/h" head="3 m" power="80 W"/><point flow="6 m3/h" head="1 m" power="90 W"/>
  </pump-model>
  <pump id="P1" in="S1" intake-height="0.08 m" model="small" check-valve="yes"/>
  <filter id="F1"><loss state="clean" flow="3 m3/h" head="0.3 m"/><loss state="dirty" flow="3 m3/h" head="1 m"/></filter>
  <tee id="J1" elevation="0.2 m"/>
  <standpipe id="ST" in="T1" bore="57 mm"><insert name="tall" lip="0.95 m"/></standpipe>
  <siphon id="SB" in="B1" bore="27 mm" crest="0.24 m" breaks-at="0.04 m" starts-with="3 l/min"/>
  <standpipe id="SC" in="B2" bore="40 mm"><insert name="tall" lip="0.25 m"/><drain-hole height="0 m" diameter="8 mm"/></standpipe>
  <standpipe id="SD" in="B3" bore="40 mm"><insert name="tall" lip="0.25 m"/></standpipe>
  <pipe id="rise" from="P1" to="F1" length="2 m" size="40 mm" series="pvc-pn16"/>
  <pipe id="up" from="F1" to="J1" length="1 m" size="40 mm" series="pvc-pn16"/>
  <pipe id="feed-T1" from="J1" to="T1" to-height="1.05 m" length="4 m" size="32 mm" series="pvc-pn16"><valve id="V1" kind="ball"/></pipe>
  <pipe id="feed-B1" from="J1" to="B1" to-height="0.33 m" length="5 m" bore="21 mm"><valve id="V2" kind="gate"/></pipe>
  <pipe id="feed-B2" from="J1" to="B2" to-height="0.33 m" length="5 m" bore="21 mm"><valve id="V3" kind="gate"/></pipe>
  <pipe id="feed-B3" from="J1" to="B3" to-height="0.33 m" length="5 m" bore="21 mm"><valve id="V4" kind="gate"/></pipe>
  <drain id="home-T1" from="ST" to="S1" to-height="0.80 m" length="2 m" size="63 mm" series="pvc-pn10"/>
  <pipe id="home-B1" from="SB" to="S1" to-height="0.80 m" length="1 m" bore="27 mm"/>
  <drain id="home-B2" from="SC" to="S1" to-height="0.80 m" length="2 m" size="50 mm" series="pvc-pn10"/>
  <drain id="home-B3" from="SD" to="S1" to-height="0.80 m" length="2 m" size="50 mm" series="pvc-pn10"/>
  <arrangement name="both"/>
</layout>
)";

std::string with(const std::string& old, const std::string& now, std::string text = kFarm) {
    const std::size_t at = text.find(old);
    REQUIRE_MESSAGE(at != std::string::npos, old);
    return text.replace(at, old.size(), now);
}

std::vector<layout::Problem> doubts_of(const std::string& text) {
    const netfiles::ReadResult result = netfiles::read_layout_text(text, "farm.xml");
    for (const layout::Problem& problem : result.problems) {
        FAIL_CHECK(netfiles::show(problem, result.files));
    }
    return result.good() ? layout::doubts(result.layout) : std::vector<layout::Problem>{};
}

/// Exactly this doubt about this thing, asked as a question and with advice.
void brings(const std::string& text, const std::string& code, const std::string& about) {
    const std::vector<layout::Problem> found = doubts_of(text);
    CAPTURE(code);
    for (const layout::Problem& problem : found) {
        INFO(problem.code, ": ", problem.says);
        CHECK(problem.code == code);
        CHECK(problem.severity == layout::Severity::doubt);
        CHECK(problem.says.find('?') != std::string::npos);
        CHECK_FALSE(problem.advice.empty());
    }
    REQUIRE_FALSE(found.empty());
    CHECK(std::ranges::any_of(found, [&](const layout::Problem& problem) { return problem.about == about; }));
}

std::string model(const std::string& name, double flow_m3_h, double head_m, const std::string& flow_unit = " m3/h") {
    std::string text = "<pump-model name=\"" + name + "\">";
    for (int i = 0; i <= 4; ++i) {
        const double share = i / 4.0;
        text += fmt::format("<point flow=\"{:.6f}{}\" head=\"{:.6f} m\"/>", flow_m3_h * share, flow_unit, head_m * (1.0 - 0.8 * share * share));
    }
    return text + "</pump-model>\n  ";
}

std::string with_models(const std::string& one, const std::string& other) { return with("<pump id=\"P1\"", one + other + "<pump id=\"P1\""); }

}  // namespace

TEST_CASE("a farm without faults raises no doubt") {
    for (const layout::Problem& problem : doubts_of(kFarm)) {
        FAIL_CHECK(problem.code << ": " << problem.says);
    }
}

TEST_CASE("heights") {
    brings(with(R"(to="T1" to-height="1.05 m")", R"(to="T1")"), "inlet-height-unsaid", "feed-T1");
    brings(with(R"(lip="0.95 m")", R"(lip="1.08 m")"), "lip-near-rim", "T1");
    brings(with(R"(crest="0.24 m")", R"(crest="0.34 m")"), "lip-near-rim", "B1");
    brings(with(R"(<bed id="B2" floor)", R"(<bed id="B2" media-depth="0.26 m" floor)"), "media-flooded", "B2");
    brings(with(R"(<drain-hole height="0 m")", R"(<drain-hole height="0.25 m")"), "drain-above-lip", "B2");
    brings(
        with(
            R"(<arrangement)",
            R"(<drain id="late" from="B3" from-height="0.30 m" to="S1" to-height="0.8 m" length="2 m" size="50 mm" series="pvc-pn10"/><arrangement)"),
        "drain-above-lip", "B3");
    brings(with(R"(start-depth="0.55 m")", R"(start-depth="0.09 m")"), "intake-bare-at-start", "P1");
    brings(with(R"(least-depth="0.2 m")", R"(least-depth="0.09 m")"), "least-depth-bares-intake", "P1");
    const std::string supply =
        R"(<supply id="M" pressure="3 bar" elevation="0 m"/><float-valve id="FV" into="S1" opens-at="0.4 m" closes-at="0.45 m" rated="0.6 m3/h" at="2 bar" height="0.5 m"/><pipe id="m" from="M" to="FV" length="2 m" bore="13 mm"/><arrangement)";
    brings(with("<arrangement", supply), "no-air-gap", "FV");
    CHECK(doubts_of(with("<arrangement", with(R"( height="0.5 m")", "", supply))).empty());
}

TEST_CASE("sumps and ways out") {
    brings(with(R"(length="1.2 m" width="0.9 m" start-depth="0.55 m")", R"(length="0.5 m" width="0.9 m" start-depth="0.55 m")"), "sump-small", "S1");
    brings(with(R"(start-depth="0.55 m")", R"(start-depth="0.85 m")"), "sump-full", "S1");
    brings(
        with(
            "<arrangement",
            R"(<tier id="N" floor="1 m" rim="1.1 m" length="1 m" width="1 m"/><pipe id="n" from="J1" to="N" to-height="0.2 m" length="4 m" bore="21 mm"/><arrangement)"),
        "no-way-out", "N");
    brings(with("<arrangement", R"(<tier id="N" floor="1 m" rim="1.1 m" length="1 m" width="1 m"/><arrangement)"), "joined-to-nothing", "N");
    brings(with("<arrangement", R"(<tee id="N" elevation="1 m"/><arrangement)"), "joined-to-nothing", "N");
}

TEST_CASE("falls") {
    brings(with(R"(to-height="0.80 m" length="2 m" size="63 mm")", R"(to-height="1.30 m" length="2 m" size="63 mm")"), "drain-adverse", "home-T1");
    brings(with(R"(to-height="0.80 m" length="2 m" size="63 mm")", R"(to-height="1.17 m" length="2 m" size="63 mm")"), "drain-flat", "home-T1");
    CHECK(doubts_of(with(R"(to-height="0.80 m" length="2 m" size="63 mm")", R"(to-height="1.15 m" length="2 m" size="63 mm")")).empty());  // 2.5 %
    brings(with(R"(to-height="0.33 m" length="5 m" bore)", R"(to-height="0.33 m" length="0.5 m" bore)"), "pipe-shorter-than-rise", "feed-B1");
    brings(with(R"(<pipe id="home-B1" from="SB" to="S1" to-height="0.80 m")", R"(<pipe id="home-B1" from="SB" to="S1" to-height="1.34 m")"),
           "siphon-outlet-high", "SB");
}

TEST_CASE("pumps and shut valves") {
    const std::string all_shut = R"(<close valve="V1"/><close valve="V2"/><close valve="V3"/><close valve="V4"/>)";
    brings(with(R"(<arrangement name="both"/>)", R"(<arrangement name="both"/><arrangement name="shut">)" + all_shut + "</arrangement>"),
           "pump-against-shut", "P1");
    CHECK(doubts_of(with(R"(<arrangement name="both"/>)", R"(<arrangement name="shut"><stop pump="P1"/>)" + all_shut + "</arrangement>")).empty());
    CHECK(doubts_of(with(R"(<arrangement name="both"/>)",
                         R"(<arrangement name="one"><close valve="V1"/><close valve="V2"/><close valve="V3"/></arrangement>)"))
              .empty());
    // a check valve that points the wrong way shuts for good
    const std::string plain =
        with(R"(<filter id="F1"><loss state="clean" flow="3 m3/h" head="0.3 m"/><loss state="dirty" flow="3 m3/h" head="1 m"/></filter>)",
             R"(<tee id="F1" elevation="0 m"/>)");
    brings(with(R"(<pipe id="up" from="F1" to="J1" length="1 m" size="40 mm" series="pvc-pn16"/>)",
                R"(<pipe id="up" from="J1" to="F1" length="1 m" size="40 mm" series="pvc-pn16"><valve id="C" kind="check"/></pipe>)", plain),
           "pump-against-shut", "P1");
    const std::string dry = with(
        R"(<pump id="P1" in="S1" intake-height="0.08 m")", R"(<pump id="P1" elevation="0 m")",
        with("<arrangement",
             R"(<pipe id="suck" from="S1" from-height="0.1 m" to="P1" length="2 m" bore="41 mm"><valve id="VS" kind="ball"/></pipe><arrangement)"));
    CHECK(doubts_of(dry).empty());
    brings(with(R"(<arrangement name="both"/>)", R"(<arrangement name="shut"><close valve="VS"/></arrangement>)", dry), "pump-starved", "P1");
}

TEST_CASE("lifts") {
    brings(with(R"(head="4 m")", R"(head="0.8 m")",
                with(R"(head="3 m" power)", R"(head="0.5 m" power)", with(R"(head="1 m" power)", R"(head="0.3 m" power)"))),
           "pump-too-low", "P1");
    brings(with(R"(head="4 m")", R"(head="24 m")"), "pump-too-high", "P1");
}

TEST_CASE("two pump models in the ratio of two units") {
    brings(with_models(model("A", 4.0, 5.0), model("B", 4.0 * 1.20095, 5.0)), "curve-ratio", "B");  // imperial to US gallon
    brings(with_models(model("A", 4.0, 5.0), model("B", 4.0, 5.0 * 3.28084)), "curve-ratio", "B");  // feet to the metre
    brings(with_models(model("A", 4.0, 5.0), model("B", 4.0, 5.0 * 1.42233)), "curve-ratio", "B");  // psi to metres of water
    brings(with_models(model("A", 4.0, 5.0 * 1.42233), model("B", 4.0, 5.0)), "curve-ratio", "A");  // 0.703 the other way round
    brings(with_models(model("A", 4.0, 5.0), model("B", 4.8, 7.2)), "curve-ratio", "B");            // 50 and 60 Hz
    CHECK(doubts_of(with_models(model("A", 4.0, 5.0), model("B", 4.4, 5.0))).empty());
    CHECK(doubts_of(with_models(model("A", 4.0, 5.0), model("B", 4.8, 6.0))).empty());
}

TEST_CASE("a pump cannot give out what it does not take in") {
    brings(with(R"(power="80 W")", R"(power="25 W")"), "efficiency-high", "small");
    brings(with(R"(power="60 W")", R"(power="2000 W")", with(R"(power="80 W")", R"(power="3 kW")", with(R"(power="90 W")", R"(power="3 kW")"))),
           "efficiency-low", "small");
}

TEST_CASE("bores that are nominal sizes") {
    brings(with(R"(bore="21 mm")", R"(bore="0.75 mm")"), "bore-inches-as-mm", "feed-B1");
    brings(with(R"(bore="21 mm")", R"(bore="0.75 in")"), "bore-nominal", "feed-B1");
    brings(with(R"(bore="21 mm")", R"(bore="25 mm")"), "bore-nominal", "feed-B1");
}

TEST_CASE("vessels unlike the others of their kind") {
    brings(with(R"(<bed id="B3" floor="0.70 m" rim="1.05 m")", R"(<bed id="B3" floor="0.70 m" rim="1.85 m")"), "feet-for-metres",
           "B3");  // 1.15 m is 3.28 x 0.35 m
    const std::string high =
        with(R"(<bed id="B3" floor="0.70 m" rim="1.05 m")", R"(<bed id="B3" floor="2.30 m" rim="2.65 m")");  // 2.30 m is 3.28 x 0.70 m
    brings(with(R"(from="SD" to="S1" to-height="0.80 m" length="2 m")", R"(from="SD" to="S1" to-height="0.80 m" length="3 m")", high),
           "feet-for-metres", "B3");
    const std::string tables =
        R"(<vessel id="M1" floor="0 m" rim="1 m" start-depth="0 m"><volume at="0 m" is="0 l"/><volume at="1 m" is="100 gal"/></vessel>
      <vessel id="M2" floor="0 m" rim="1 m" start-depth="0 m"><volume at="0 m" is="0 l"/><volume at="1 m" is="100 imp-gal"/></vessel>
      <pipe id="m" from="M1" to="M2" to-height="0.5 m" length="2 m" bore="21 mm"/><pipe id="n" from="M2" to="M1" to-height="0.5 m" length="2 m" bore="21 mm"/><arrangement)";
    brings(with("<arrangement", tables), "volume-ratio", "M2");
}

TEST_CASE("figures that only make sense in another unit") {
    brings(with(R"(water-temperature="22 degC")", R"(water-temperature="72 degC")"), "water-hot", "");
    const std::string mains =
        R"(<supply id="M" pressure="3 m" elevation="0 m"/><pipe id="m" from="M" to="S1" to-height="0.8 m" length="2 m" bore="13 mm"/><arrangement)";
    brings(with("<arrangement", mains), "supply-weak", "M");
    brings(with("<arrangement", with("3 m\"", "300 m\"", mains)), "supply-strong", "M");
    brings(with(R"(state="dirty" flow="3 m3/h" head="1 m")", R"(state="dirty" flow="3 m3/h" head="0.1 m")"), "filter-dirty-below-clean", "F1");
    brings(with(R"(state="clean" flow="3 m3/h" head="0.3 m"/><loss state="dirty" flow="3 m3/h" head="1 m"/>)",
                R"(state="clean" flow="3 m3/h" head="6 m"/>)"),
           "filter-loss-large", "F1");
    brings(with(R"(turnover="60 min")", R"(turnover="60 s")"), "targets-beyond-pumps", "a small farm");
}

TEST_CASE("routines: what would not happen, and clocks that overrule the arrangement") {
    const auto day = [](const std::string& happening, const std::string& attributes = "") {
        return with("  <arrangement name=\"both\"/>\n",
                    "  <arrangement name=\"both\"/>\n  <arrangement name=\"at rest\"><stop pump=\"P1\"/></arrangement>\n"
                    "  <routine name=\"day\"" +
                        attributes + ">" + happening + "</routine>\n");
    };
    CHECK(doubts_of(day(R"(<power-cut at="23 h" for="2 h"/><change at="0 h"><close valve="V2"/></change><failure of="P1" at="2 h"/>)")).empty());
    for (const char* late : {R"(<power-cut at="24 h" for="2 h"/>)", R"(<draw from="T1" volume="9 l" at="30 h" over="2 min"/>)",
                             R"(<change at="2 day"><close valve="V2"/></change>)", R"(<failure of="P1" at="25 h"/>)",
                             R"(<timer opens="V2" every="1 h" for="5 min" after="24 h"/>)"}) {
        CAPTURE(late);
        brings(day(late), "after-the-end", "day");
        CHECK(doubts_of(day(late, R"( lasts="3 day")")).empty());
    }
    brings(day(R"(<timer runs="P1" every="1 h" for="5 min"/>)", R"( arrangement="at rest")"), "timer-of-stopped-pump", "day");
    CHECK(doubts_of(day(R"(<timer runs="P1" every="1 h" for="5 min"/>)")).empty());
    CHECK(doubts_of(day(R"(<timer opens="V2" every="1 h" for="5 min"/><level-switch watches="S1" closes="V2" below="0.2 m" reopens-above="0.3 m"/>)"))
              .empty());
    brings(day(R"(<rotation opens="V2" each="5 min"/>)"), "rotation-of-one", "day");
    CHECK(doubts_of(day(R"(<rotation opens="V2 V3" each="5 min"/>)")).empty());
    brings(with(R"(id="V2" kind="gate")", R"(id="V2" kind="check")", day(R"(<change at="1 h"><throttle valve="V2" to="30 %"/></change>)")),
           "valve-without-handle", "day");
}

TEST_CASE("costs: a part of the year left out, candidates for nothing, cents, sizes that are not sold") {
    const auto economy = [](const std::string& inside, const std::string& attributes = "") {
        return with("  <arrangement name=\"both\"/>\n",
                    "  <arrangement name=\"both\"/>\n  <economy currency=\"EUR\"" + attributes + ">" + inside + "</economy>\n");
    };
    CHECK(doubts_of(economy(R"(<hours arrangement="both" a-year="365 day"/>)", R"( price-per-kwh="0.28")")).empty());
    brings(economy(R"(<hours arrangement="both" a-year="6000 h"/>)"), "hours-short", "economy");
    brings(economy("", R"( price-per-kwh="28")"), "price-in-cents", "economy");
    CHECK(doubts_of(with("currency=\"EUR\"", "currency=\"JPY\"", economy("", R"( price-per-kwh="28")"))).empty());
    const std::string candidate = R"(<candidate model="small"/>)";
    const std::string priced = with(R"(<pump-model name="small">)", R"(<pump-model name="small" price="90">)", economy(candidate));
    CHECK(doubts_of(priced).empty());
    brings(economy(candidate), "candidate-price", "small");
    std::string powerless = priced;
    for (const char* power : {R"( power="60 W")", R"( power="80 W")", R"( power="90 W")"}) {
        powerless = with(power, "", powerless);
    }
    brings(powerless, "candidate-power", "small");
    const auto chosen = [](const std::string& size) {
        return with(R"(<pipe id="feed-B1" from="J1" to="B1" to-height="0.33 m" length="5 m" bore="21 mm">)",
                    R"(<pipe-series name="yard"><size name="25 mm" bore="21 mm" price-per-metre="1"/><size name="32 mm" bore="27 mm"/></pipe-series>
  <pipe id="feed-B1" from="J1" to="B1" to-height="0.33 m" length="5 m" series="yard" choose="yes" size=")" +
                        size + "\">");
    };
    CHECK(doubts_of(chosen("25 mm")).empty());
    brings(chosen("32 mm"), "size-unsold", "feed-B1");
}
