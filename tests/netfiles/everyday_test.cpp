// Words people use where the language has another: what is advised. The words are common speech of growers and plumbers.
#include <doctest/doctest.h>

#include "netfiles/everyday.h"
#include "netfiles/scale.h"
#include "tests/near.h"

using namespace ebb::netfiles;

namespace {

std::string element_in(const char* parent, const char* word) { return std::string(everyday_element(word, *find_element(parent))); }
std::string attribute_of(const char* element, const char* word) { return everyday_attribute(word, *find_element(element)); }

}  // namespace

TEST_CASE("elements by their everyday names") {
    for (const char* word : {"growbed", "grow-bed", "Grow_Bed", "GROWBED", "mediabed", "gravel-bed"}) {
        CAPTURE(word);
        CHECK(element_in("layout", word) == "did you mean <bed>?");
    }
    CHECK(element_in("layout", "bell-siphon") == "did you mean <siphon>?");
    CHECK(element_in("pipe", "elbow").find("<fitting kind=\"elbow-90\"") != std::string::npos);
    CHECK(element_in("layout", "elbow").empty());  // a fitting cannot stand there
    CHECK(element_in("change", "valve").find("<throttle") != std::string::npos);
    CHECK(element_in("routine", "blackout") == "did you mean <power-cut>?");
    CHECK(element_in("layout", "blackout").empty());
    CHECK(element_in("layout", "zebra").empty());
}

TEST_CASE("attributes by their everyday names") {
    CHECK(attribute_of("tank", "depth") == "did you mean start-depth?");
    CHECK(attribute_of("tank", "Water_Depth") == "did you mean start-depth?");
    CHECK(attribute_of("pipe", "depth").empty());
    CHECK(attribute_of("pipe", "diameter") == "did you mean bore?");
    CHECK(attribute_of("pipe", "schedule") == "write series=\"schedule-40\"");
    CHECK(attribute_of("pump", "flow").find("pump-model") != std::string::npos);
    CHECK(attribute_of("pump-model", "flow") == "did you mean greatest-flow?");
    CHECK(attribute_of("routine", "duration") == "did you mean lasts?");
    CHECK(attribute_of("draw", "duration") == "did you mean over?");
    CHECK(attribute_of("power-cut", "duration") == "did you mean for?");
    CHECK(attribute_of("failure", "pump") == "did you mean of?");
}

TEST_CASE("series and sizes as they are printed on pipes") {
    CHECK(everyday_series("sch40") == "schedule-40");
    CHECK(everyday_series("Sch 80") == "schedule-80");
    CHECK(everyday_series("PVC Schedule 40") == "schedule-40");
    CHECK(everyday_series("pn16") == "pvc-pn16");
    CHECK(everyday_series("copper").empty());
    CHECK(everyday_size("2 inch") == "2 in");
    CHECK(everyday_size("1 1/2 in") == "1-1/2 in");
    CHECK(everyday_size("0.75 in") == "3/4 in");
    CHECK(everyday_size("32 mm").empty());
}

TEST_CASE("a scale has words for its bounds, the same as its figures") {
    for (const Dimension dimension : {Dimension::length, Dimension::head, Dimension::flow, Dimension::time, Dimension::volume, Dimension::power}) {
        const Scale scale = farm_scale(dimension);
        const std::string greatest(scale.greatest_text.substr(0, scale.greatest_text.find(" (")));
        const std::string least(scale.least_text.substr(0, scale.least_text.find(" (")));
        CAPTURE(greatest);
        CHECK(parse_quantity(greatest, dimension, 1000.0).value == ebb::test::near(scale.greatest));
        CHECK(parse_quantity(least, dimension, 1000.0).value >= scale.least * (1.0 - 1e-12));
        CHECK(parse_quantity(least, dimension, 1000.0).value <= scale.least * 1.2);
    }
}
