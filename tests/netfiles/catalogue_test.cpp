// The built-in catalogue against tables outside the project: tests/reference/pipe_dimensions.csv (ASTM D1785 tables 1 and 2; EN ISO 1452-2)
// and tests/reference/fittings.csv (Crane TP-410; Hydraulic Institute data in Rishel 2006).
#include <doctest/doctest.h>

#include <algorithm>
#include <charconv>
#include <fstream>
#include <map>
#include <string>
#include <vector>

#include "netfiles/catalogue.h"
#include "netfiles/schema.h"
#include "netfiles/words.h"
#include "solver/physics/valves.h"
#include "tests/near.h"

using namespace ebb::netfiles;

namespace {

std::vector<std::vector<std::string>> rows_of(const std::string& file) {
    std::ifstream stream(std::string(EBB_SOURCE_DIR) + "/tests/reference/" + file);
    REQUIRE(stream);
    std::vector<std::vector<std::string>> rows;
    for (std::string line; std::getline(stream, line);) {
        if (line.empty() || line[0] == '#') {
            continue;
        }
        std::vector<std::string> cells(1);
        for (const char c : line) {
            if (c == ',') {
                cells.emplace_back();
            } else {
                cells.back() += c;
            }
        }
        rows.push_back(std::move(cells));
    }
    return rows;
}

double number(const std::string& text) {
    double value = -1.0;
    std::from_chars(text.data(), text.data() + text.size(), value);
    return value;
}

const PipeSeries& series(const std::string& name) {
    for (const PipeSeries& candidate : built_in_catalogue().series) {
        if (candidate.name == name) {
            return candidate;
        }
    }
    FAIL("no series " << name);
    return built_in_catalogue().series[0];
}

}  // namespace

TEST_CASE("inch pipe: bores of ASTM D1785") {
    const std::map<std::string, std::string> names = {{"ASTM_D1785_sch40", "schedule-40"}, {"ASTM_D1785_sch80", "schedule-80"}};
    int checked = 0;
    for (const auto& row : rows_of("pipe_dimensions.csv")) {
        if (!names.contains(row[0])) {
            continue;
        }
        const PipeSize* size = find_size(series(names.at(row[0])), row[1] + " in");
        CAPTURE(row[1]);
        REQUIRE(size != nullptr);
        CHECK(size->outside_m == ebb::test::near(number(row[2]) * 0.0254).epsilon(1e-12));
        CHECK(size->wall_m == ebb::test::near(number(row[3]) * 0.0254).epsilon(1e-12));
        CHECK(size->bore_m == ebb::test::near(number(row[5]) * 0.0254).epsilon(1e-9));
        // the average bore that makers print lies inside the stated range
        CHECK(size->bore_low_m <= number(row[11]) / 1000.0);
        CHECK(size->bore_m >= number(row[11]) / 1000.0);
        ++checked;
    }
    CHECK(checked == 24);
}

TEST_CASE("metric pipe: bores of EN ISO 1452-2") {
    int checked = 0;
    for (const auto& row : rows_of("pipe_dimensions.csv")) {
        const bool standard = row[0] == "EN_ISO_1452-2";
        if (!standard && row[0] != "series_C25") {
            continue;
        }
        const PipeSize* size = find_size(series("pvc-pn" + row[2]), row[1] + " mm");
        CAPTURE(row[1]);
        REQUIRE(size != nullptr);
        if (standard) {
            CHECK(size->bore_m == ebb::test::near(number(row[6]) / 1000.0).epsilon(1e-12));
            CHECK(size->wall_m == ebb::test::near(number(row[5]) / 1000.0).epsilon(1e-12));
        } else {
            CHECK(size->bore_low_m <= number(row[6]) / 1000.0 + 1e-12);  // the thicker class sold under the same name is inside the range
        }
        ++checked;
    }
    CHECK(checked == 30);
}

TEST_CASE("every size in the table is one of the published ones") {
    CHECK(series("schedule-40").sizes.size() == 12);
    CHECK(series("schedule-80").sizes.size() == 12);
    CHECK(series("pvc-pn10").sizes.size() == 10);
    CHECK(series("pvc-pn16").sizes.size() == 12);
}

TEST_CASE("sizes are found with or without the space") {
    CHECK(find_size(series("pvc-pn16"), "32mm") == find_size(series("pvc-pn16"), "32 mm"));
    CHECK(find_size(series("schedule-40"), "1-1/2in") != nullptr);
    CHECK(find_size(series("schedule-40"), "1.5 in") == nullptr);
}

TEST_CASE("fitting losses lie among the published ones") {
    // multipliers of fT of Crane TP-410 (block B) at fT of the sizes 1/2 to 4 inch (block A, 0.016 to 0.026), and the ranges of block E
    struct Row {
        const char* kind;
        double crane_multiplier;
        double institute_low, institute_high;  // Hydraulic Institute, 1 to 2 inch, screwed
    };
    const Row rows[] = {{"elbow-90", 30, 1.00, 1.50},
                        {"elbow-45", 16, 0.30, 0.33},
                        {"bend-long", 14, 0.43, 0.76},
                        {"tee-run", 20, 0.90, 0.90},
                        {"tee-branch", 60, 1.40, 1.90}};
    for (const Row& row : rows) {
        const auto& fittings = built_in_catalogue().fittings;
        const auto found = std::find_if(fittings.begin(), fittings.end(), [&](const FittingKind& kind) { return kind.name == row.kind; });
        CAPTURE(row.kind);
        REQUIRE(found != fittings.end());
        const double crane_low = row.crane_multiplier * 0.019;   // 2 inch
        const double crane_high = row.crane_multiplier * 0.022;  // 1 inch
        CHECK(found->loss.value >= std::min(crane_low, row.institute_low) * 0.999);
        CHECK(found->loss.value <= std::max(crane_high, row.institute_high));
        CHECK(found->loss.low <= std::min(crane_low, row.institute_low));
        CHECK(found->loss.high >= std::max(crane_high, row.institute_high));
    }
}

TEST_CASE("every figure has a source and a range around it") {
    for (const FittingKind& kind : built_in_catalogue().fittings) {
        CHECK_FALSE(kind.source.empty());
        CHECK(kind.loss.low <= kind.loss.value);
        CHECK(kind.loss.value <= kind.loss.high);
    }
    for (const PortLoss& port : port_losses()) {
        CHECK_FALSE(port.source.empty());
        CHECK(port.loss.low <= port.loss.value);
    }
    for (const PipeSeries& pipe : built_in_catalogue().series) {
        CHECK_FALSE(pipe.source.empty());
    }
}

TEST_CASE("defaults of plastic pipe are those of the handbooks") {
    // tests/reference/roughness_and_C.csv: plastic 0.0015 to 0.007 mm; C 140 to 155; n 0.009 to 0.011
    CHECK(plain_plastic().roughness_m.value == ebb::test::near(0.0015e-3));
    CHECK(plain_plastic().roughness_m.high == ebb::test::near(0.007e-3));
    CHECK(plain_plastic().hazen_williams_c.value == 150.0);
    CHECK(plain_plastic().manning_n.low == 0.009);
    CHECK(plain_plastic().manning_n.high == 0.011);
}

TEST_CASE("the language knows every kind of valve the solver knows") {
    const AttributeRule* kind = find_attribute(*find_element("valve"), "kind");
    REQUIRE(kind != nullptr);
    std::string words;
    for (const auto valve : ebb::physics::valve_kinds()) {
        words += (words.empty() ? "" : "|") + std::string(ebb::physics::valve_kind_name(valve));
    }
    CHECK(kind->words == words);
}
