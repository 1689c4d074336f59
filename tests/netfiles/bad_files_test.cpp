// The corpus of mistakes: tests/netfiles/bad/*.xml, each with one mistake and one message, listed in expected.tsv. The line, element and
// remedy expected were written down from the mistake made, not from what the reader says.
#include <doctest/doctest.h>

#include <filesystem>
#include <fstream>
#include <set>
#include <string>
#include <vector>

#include "netfiles/reader.h"

using namespace ebb;

namespace {

struct Expected {
    std::string file, code, about, remedy;
    int line = 0;
};

std::vector<Expected> expectations() {
    std::ifstream stream(std::string(EBB_SOURCE_DIR) + "/tests/netfiles/bad/expected.tsv");
    REQUIRE(stream);
    std::vector<Expected> list;
    for (std::string line; std::getline(stream, line);) {
        if (line.empty() || line[0] == '#') {
            continue;
        }
        std::vector<std::string> cells(1);
        for (const char c : line) {
            if (c == '\t') {
                cells.emplace_back();
            } else {
                cells.back() += c;
            }
        }
        REQUIRE(cells.size() == 6);
        list.push_back({cells[0], cells[1], cells[3], cells[4], std::stoi(cells[2])});
    }
    return list;
}

}  // namespace

TEST_CASE("every mistake gives one clear message with its place, its element and a remedy") {
    const std::vector<Expected> all = expectations();
    CHECK(all.size() >= 45);
    for (const Expected& expected : all) {
        CAPTURE(expected.file);
        const std::string path = std::string(EBB_SOURCE_DIR) + "/tests/netfiles/bad/" + expected.file + ".xml";
        const netfiles::ReadResult result = netfiles::read_layout(path);
        REQUIRE(result.problems.size() == 1);
        const layout::Problem& problem = result.problems[0];
        CHECK(problem.code == expected.code);
        CHECK(problem.about == expected.about);
        CHECK(problem.severity == layout::Severity::error);
        CHECK(problem.place.line == expected.line);
        CHECK(problem.place.column >= 1);
        CAPTURE(problem.advice);
        CHECK((problem.says + " " + problem.advice).find(expected.remedy) != std::string::npos);
        const std::string text = netfiles::show(problem, result.files);
        CHECK(text.find(expected.file + ".xml:" + std::to_string(expected.line) + ":") != std::string::npos);
        CHECK(text.find("error: ") != std::string::npos);
        CHECK(text.find("> ") != std::string::npos);
    }
}

TEST_CASE("no file of the corpus is left out of the list") {
    std::set<std::string> listed;
    for (const Expected& expected : expectations()) {
        listed.insert(expected.file);
    }
    for (const auto& entry : std::filesystem::directory_iterator(std::string(EBB_SOURCE_DIR) + "/tests/netfiles/bad")) {
        if (entry.path().extension() == ".xml") {
            CHECK(listed.contains(entry.path().stem().string()));
        }
    }
}
