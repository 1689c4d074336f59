// Readings files: what is read of a good one, what is said of bad ones, and that no mangled one brings the reader down.
#include "netfiles/readings.h"

#include <doctest/doctest.h>

#include <cmath>
#include <fstream>
#include <iterator>
#include <random>
#include <set>
#include <string>

#include "netfiles/reader.h"
#include "netfiles/schema.h"
#include "tests/near.h"

using namespace ebb;
using namespace ebb::netfiles;
using Read = diagnose::Quantity;

namespace {

const std::string kRoot = EBB_SOURCE_DIR;

const layout::Layout& farm() {
    static const ReadResult read = read_layout(kRoot + "/examples/farm.xml");
    REQUIRE(read.good());
    return read.layout;
}

std::string slurp(const std::string& path) {
    std::ifstream stream(path, std::ios::binary);
    return {std::istreambuf_iterator<char>(stream), std::istreambuf_iterator<char>()};
}

ReadingsResult read_lines(const std::string& lines) {
    return read_readings_text("<readings><when arrangement=\"coupled\">" + lines + "</when></readings>", "r.xml", farm());
}

/// The one problem of a file, as a person sees it.
std::string told(const ReadingsResult& result) {
    std::string text;
    for (const layout::Problem& problem : result.problems) text += show(problem, result.files) + "\n";
    return text;
}

}  // namespace

TEST_CASE("every word of a readings file is read, in SI") {
    const ReadingsResult result = read_readings(kRoot + "/tests/netfiles/readings/every_word.xml", farm());
    CAPTURE(told(result));
    REQUIRE(result.good());
    CHECK(result.name == "every word");
    const diagnose::Readings& all = result.readings;
    REQUIRE(all.visits.size() == 2);
    CHECK(farm().arrangements[static_cast<std::size_t>(all.visits[0].arrangement)].name == "coupled");
    CHECK(all.visits[1].arrangement == 0);
    CHECK(all.gauges.size() == 3);
    REQUIRE(all.chances.size() == 3);
    CHECK(all.chances[1].chance == ebb::test::near(0.02));
    REQUIRE(all.readings.size() == 21);
    const auto at = [&](std::size_t i) -> const diagnose::Reading& { return all.readings[i]; };
    CHECK(at(0).what.quantity == Read::depth);
    CHECK(at(0).value == ebb::test::near(0.35 - 0.021));  // bed 3 is 0.35 m deep
    CHECK(at(0).sigma == ebb::test::near(0.0025));        // 5 mm is two standard deviations
    CHECK(at(1).value == ebb::test::near(20 * 0.0254));
    CHECK(at(1).sigma == ebb::test::near(0.005));
    CHECK(at(2).what.quantity == Read::moves);
    CHECK(at(2).value == 0.0);
    CHECK(at(3).what.quantity == Read::moves);  // a level with both is two readings
    CHECK(at(4).what.quantity == Read::depth);
    CHECK(at(5).value == ebb::test::near(0.010 / 46));
    CHECK(at(5).sigma == ebb::test::near(0.5 * 0.05 * 0.010 / 46));
    CHECK(at(6).value == 0.0);
    CHECK(at(6).sigma == ebb::test::near(0.5 * diagnose::kLeastFlow_m3_s));
    CHECK(at(7).by == diagnose::Instrument::meter);
    CHECK(at(8).value == ebb::test::near(-0.1 / 3600));
    CHECK(at(9).value == ebb::test::near(2.1));
    CHECK(at(10).value == ebb::test::near(4000 / (997.77 * 9.80665)).epsilon(1e-3));  // water of 22 degC: CRC Handbook, from memory
    CHECK(at(11).what.quantity == Read::fall_time);
    CHECK(at(11).value == 270.0);
    CHECK(at(12).what.quantity == Read::rise_time);
    CHECK(at(13).value == 3.0);
    CHECK(at(14).value == 0.0);
    CHECK(at(15).value == 1.0);
    CHECK(at(16).value == 0.0);
    CHECK(at(18).value == 2.0);
    CHECK(at(18).what.visit == 1);
    CHECK(at(20).value == 1.0);
}

TEST_CASE("the file with every word holds every word") {
    const std::string text = slurp(kRoot + "/tests/netfiles/readings/every_word.xml");
    const ElementRule* root = find_element("readings");
    const auto holds = [&](const ElementRule& element) {
        CAPTURE(element.name);
        CHECK(text.find("<" + std::string(element.name)) != std::string::npos);
        for (const AttributeRule& attribute : element.attributes) {
            CAPTURE(attribute.name);
            CHECK(text.find(" " + std::string(attribute.name) + "=\"") != std::string::npos);
        }
    };
    holds(*root);
    for (const ChildRule& child : root->children) {
        const ElementRule& element = *find_element(child.name, root->name);
        holds(element);
        for (const ChildRule& below : element.children) holds(*find_element(below.name, element.name));
    }
}

TEST_CASE("what is wrong with a readings file is said, with what to write instead") {
    struct Bad {
        const char* line;
        const char* code;
        const char* says;
    };
    for (const Bad& bad : std::initializer_list<Bad>{
             {"<level of=\"B9\" depth=\"0.1 m\"/>", "dangling", "did you mean \"B"},
             {"<level of=\"feed-B3\" depth=\"0.1 m\"/>", "wrong-kind", "is a pipe or drain"},
             {"<level of=\"B3\"/>", "no-depth", "write depth=, below-rim= or moves="},
             {"<level of=\"B3\" depth=\"0.1 m\" below-rim=\"0.2 m\"/>", "two-depths", "keep the one that was read"},
             {"<level of=\"B3\" depth=\"0.5 m\"/>", "impossible-reading", "B3 is 0.35 m deep"},
             {"<level of=\"B3\" below-rim=\"0.5 m\"/>", "impossible-reading", "counted from the rim down"},
             {"<level of=\"B3\" depth=\"-1 mm\"/>", "out-of-bounds", ""},
             {"<level of=\"B3\" depth=\"0.1\"/>", "no-unit", ""},
             {"<level of=\"B3\" depth=\"0.1 m\" plus-minus=\"0 mm\"/>", "out-of-bounds", ""},
             {"<level of=\"B3\" depth=\"0.1 m\" plus-minus=\"2 m\"/>", "out-of-bounds", ""},
             {"<level of=\"B3\" moves=\"up\"/>", "unknown-word", ""},
             {"<bucket of=\"B3\" volume=\"10 l\" seconds=\"46\"/>", "wrong-kind", "name what brings it: feed-B3"},
             {"<bucket of=\"feed-B3\" volume=\"-1 l\" seconds=\"46\"/>", "out-of-bounds", ""},
             {"<bucket of=\"feed-B3\" volume=\"10 l\" seconds=\"0\"/>", "out-of-bounds", ""},
             {"<bucket of=\"feed-B3\" volume=\"10 l\"/>", "missing-attribute", "seconds"},
             {"<pressure at=\"B3\" is=\"2 m\"/>", "wrong-kind", "name a tee, a pump or a filter"},
             {"<time of=\"B3\" from=\"0.2 m\" to=\"0.2 m\" takes=\"3 min\"/>", "no-way", "hardly apart"},
             {"<time of=\"B3\" from=\"0.2 m\" to=\"0.9 m\" takes=\"3 min\"/>", "impossible-reading", "a depth above its floor that it can hold"},
             {"<siphon of=\"OB3\" does=\"runs\"/>", "wrong-kind", "is a standpipe"},
             {"<siphon of=\"SB7\" does=\"sleeps\"/>", "unknown-word", ""},
             {"<overflow of=\"OB3\" is=\"perhaps\"/>", "unknown-word", ""},
             {"<air of=\"T1\" is=\"yes\"/>", "wrong-kind", "is a vessel"},
             {"<depth of=\"B3\"/>", "unknown-element", ""},
         }) {
        CAPTURE(bad.line);
        const ReadingsResult result = read_lines(bad.line);
        REQUIRE(result.problems.size() == 1);
        CHECK(result.problems[0].code == bad.code);
        CHECK(result.problems[0].place.line == 1);
        CHECK(result.problems[0].place.column > 30);
        CAPTURE(told(result));
        CHECK(told(result).find(bad.says) != std::string::npos);
    }
}

TEST_CASE("what is wrong around the readings is said too") {
    const auto one = [](const std::string& text, const std::string& code, const std::string& says) {
        CAPTURE(text);
        const ReadingsResult result = read_readings_text(text, "r.xml", farm());
        REQUIRE(result.problems.size() == 1);
        CHECK(result.problems[0].code == code);
        CAPTURE(told(result));
        CHECK(told(result).find(says) != std::string::npos);
    };
    one("<readings/>", "no-readings", "nothing was read");
    one("<readings><when/><when arrangement=\"parted\"/></readings>", "no-readings", "nothing was read");
    one("<layout/>", "wrong-root", "name it first");
    one("<readings><when arrangement=\"couple\"><level of=\"B3\" depth=\"0.1 m\"/></when></readings>", "unknown-arrangement",
        "did you mean \"coupled\"?");
    one("<readings><how-often kind=\"blocked-drains\" chance=\"0.1\"/><when><level of=\"B3\" depth=\"0.1 m\"/></when></readings>", "unknown-fault",
        "did you mean \"blocked-drain\"?");
    one("<readings><how-often kind=\"leak\" chance=\"0.1\"/><how-often kind=\"leak\" chance=\"0.2\"/><when><level of=\"B3\" depth=\"0.1 "
        "m\"/></when></readings>",
        "contradiction", "said twice");
    one("<readings><how-often kind=\"leak\" chance=\"1.1\"/><when><level of=\"B3\" depth=\"0.1 m\"/></when></readings>", "out-of-bounds", "");
    one("<readings><gauge at=\"B1\"/><when><level of=\"B3\" depth=\"0.1 m\"/></when></readings>", "wrong-kind", "is a vessel");
    CHECK_FALSE(read_readings(kRoot + "/there-is-none.xml", farm()).good());
}

TEST_CASE("an arrangement for which nothing was filled in is not visited") {
    const ReadingsResult result = read_readings_text(
        "<readings><when/><when arrangement=\"parted\"><level of=\"B3\" depth=\"0.1 m\"/></when><when/></readings>", "r.xml", farm());
    REQUIRE(result.good());
    REQUIRE(result.readings.visits.size() == 1);
    CHECK(farm().arrangements[static_cast<std::size_t>(result.readings.visits[0].arrangement)].name == "parted");
    CHECK(result.readings.readings[0].what.visit == 0);
}

TEST_CASE("too many readings are refused, a sheet full is not") {
    std::string lines;
    for (int i = 0; i < 500; ++i) lines += "<level of=\"B3\" depth=\"0.1 m\"/>";
    CHECK(read_lines(lines).good());
    CHECK_FALSE(read_lines(lines + "<level of=\"B3\" depth=\"0.1 m\"/>").good());
}

TEST_CASE("no mangled readings file brings the reader down") {
    const std::string whole = slurp(kRoot + "/tests/netfiles/readings/every_word.xml");
    std::mt19937 random(20261126);
    int good = 0;
    for (int trial = 0; trial < 1500; ++trial) {
        std::string text = whole;
        const int changes = 1 + static_cast<int>(random() % 4);
        for (int c = 0; c < changes && !text.empty(); ++c) {
            const std::size_t at = random() % text.size();
            switch (random() % 4) {
                case 0: text[at] = static_cast<char>(random() % 256); break;
                case 1: text.erase(at, 1 + random() % 20); break;
                case 2: text.insert(at, text.substr(random() % text.size(), 1 + random() % 30)); break;
                default: text[at] = "<>\"&/=0-9m "[random() % 11]; break;
            }
        }
        const ReadingsResult result = read_readings_text(text, "mangled.xml", farm());
        for (const layout::Problem& problem : result.problems) CHECK_FALSE(show(problem, result.files).empty());
        if (!result.good()) continue;
        ++good;
        CHECK_FALSE(result.readings.readings.empty());
        for (const diagnose::Reading& reading : result.readings.readings) {
            CHECK(std::isfinite(reading.value));
            CHECK((diagnose::is_glance(reading.what.quantity) || reading.sigma > 0.0));
        }
    }
    CHECK(good > 20);    // some changes fall into comments and texts
    CHECK(good < 1200);  // most are seen
}
