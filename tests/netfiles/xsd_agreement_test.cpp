// The XSD accepts exactly what the reader accepts, as far as structure, words, units and required attributes go: hundreds of files with one
// attribute changed, left out or renamed, or one element put elsewhere, judged by both. xmllint is the outside judge.
#include <doctest/doctest.h>
#include <unistd.h>

#include <algorithm>
#include <array>
#include <cstdlib>
#include <filesystem>
#include <fstream>
#include <iterator>
#include <set>
#include <string>
#include <string_view>
#include <vector>

#include "netfiles/reader.h"

using namespace ebb;
namespace fs = std::filesystem;

namespace {

constexpr std::array kValues = {
    "3 m",
    "3",
    "3m",
    "  3   m ",
    "-3 m",
    "+3 m",
    "3 l",
    "3 l/min",
    "3 %",
    "0.3",
    "30%",
    "yes",
    "no",
    "",
    "x y",
    "5 ft 3 in",
    "5ft3in",
    "5 ft 03 in",
    "5 ft 12 in",
    "1 h 30 min",
    "1 h 61 min",
    "2 day 3 h",
    "3 min 5.5 s",
    "3 min .5 s",
    "1e3 m",
    "1e m",
    ".5 m",
    "5. m",
    ". m",
    "3 degC",
    "72 degF",
    "3 gal",
    "3 imp-gal",
    "3 gpm",
    "3 imp-gal/day",
    "3 psi",
    "3 W",
    "007",
    "1000000",
    "1000001",
    "0",
    "12",
    "1.5",
    "start",
    "settled",
    "clean",
    "hazen-williams",
    "ball",
    "1,5 m",
    "0x1 m",
    "nan m",
    "3 M",
    "3\tm",
    "3 in 3 ft",
    "-0 m",
    "3 kPa",
    "3 bar",
    "3 m/s",
    "3 ft/s",
    "5.0 ft 3 in",
    "5 ft 3e0 in",
};

/// Codes of what the XSD can see too. "out-of-bounds" is in part a matter of signs, which it sees, and of figures, which it does not.
const std::set<std::string_view> kStructure = {
    "unknown-element", "misplaced-element", "unknown-attribute", "missing-attribute", "empty-attribute", "unknown-word",
    "space-in-label",  "missing-element",   "stray-text",        "too-many-elements", "no-unit",         "wrong-unit",
    "unknown-unit",    "decimal-comma",     "thousands-mark",    "hexadecimal",       "fraction",        "not-a-number",
    "not-finite",      "not-plain",         "not-a-count",       "odd-pair",          "attribute-twice", "bad-markup",
};

struct Span {
    std::size_t name = 0, name_end = 0, value = 0, value_end = 0;
};

std::vector<Span> attributes_of(const std::string& text) {
    std::vector<Span> spans;
    for (std::size_t at = text.find("=\""); at != std::string::npos; at = text.find("=\"", at)) {
        const std::size_t name = text.find_last_of(" \n", at) + 1;
        const std::size_t end = text.find('"', at + 2);
        if (text.substr(name, 3) != "xml" && text.substr(name, 3) != "xsi" && text.substr(name, 7) != "version" &&
            text.substr(name, 8) != "encoding") {
            spans.push_back({name, at, at + 2, end});
        }
        at = end;
    }
    return spans;
}

class Dice {
public:
    std::size_t below(std::size_t limit) {
        state_ = state_ * 6364136223846793005ULL + 1442695040888963407ULL;
        return static_cast<std::size_t>(state_ >> 33U) % limit;
    }

private:
    std::uint64_t state_ = 20;
};

std::string changed(const std::string& text, const std::vector<Span>& spans, Dice& dice) {
    std::string result = text;
    const Span& span = spans[dice.below(spans.size())];
    const std::size_t kind = dice.below(10);
    if (kind < 7) {
        return result.replace(span.value, span.value_end - span.value, kValues[dice.below(kValues.size())]);
    }
    if (kind == 7) {
        return result.erase(span.name, span.value_end + 1 - span.name);
    }
    if (kind == 8) {
        const Span& other = spans[dice.below(spans.size())];
        return result.replace(span.name, span.name_end - span.name, text.substr(other.name, other.name_end - other.name));
    }
    const std::size_t place = text.find("<", span.value_end);
    return place == std::string::npos || text.substr(place, 2) == "</" ? result : result.insert(place, "<tee id=\"put-in\" elevation=\"1 m\"/>");
}

std::string slurp(const fs::path& path) {
    std::ifstream stream(path, std::ios::binary);
    return {std::istreambuf_iterator<char>(stream), std::istreambuf_iterator<char>()};
}

}  // namespace

TEST_CASE("reader and XSD judge structure, words and units alike") {
    if (std::system("xmllint --version > /dev/null 2>&1") != 0) {
        MESSAGE("xmllint is not installed (Debian package libxml2-utils): not checked");
        return;
    }
    const std::string root = EBB_SOURCE_DIR;
    const std::string text = slurp(root + "/tests/netfiles/good/every-word.xml");
    const fs::path folder = fs::temp_directory_path() / ("ebbwright-agreement-" + std::to_string(::getpid()));
    fs::remove_all(folder);
    fs::create_directories(folder);
    fs::copy(root + "/tests/netfiles/good/parts", folder / "parts", fs::copy_options::recursive);
    const std::vector<Span> spans = attributes_of(text);
    CHECK(spans.size() > 200);
    Dice dice;
    constexpr int kFiles = 500;
    for (int i = 0; i < kFiles; ++i) {
        std::ofstream(folder / (std::to_string(i) + ".xml"), std::ios::binary) << changed(text, spans, dice);
    }
    const std::string command =
        "cd '" + folder.string() + "' && xmllint --noout --nonet --schema '" + root + "/docs/layout.xsd' *.xml > verdicts.txt 2>&1";
    [[maybe_unused]] const int status = std::system(command.c_str());  // not zero: some files are bad
    const std::string verdicts = "\n" + slurp(folder / "verdicts.txt");
    int refused = 0;
    for (int i = 0; i < kFiles; ++i) {
        const std::string name = std::to_string(i) + ".xml";
        const netfiles::ReadResult result = netfiles::read_layout(folder / name);
        const bool valid = verdicts.find("\n" + name + " validates") != std::string::npos;
        const bool bounds = std::ranges::find(result.problems, "out-of-bounds", &layout::Problem::code) != result.problems.end();
        const bool structure = std::ranges::any_of(result.problems, [](const layout::Problem& problem) { return kStructure.contains(problem.code); });
        CAPTURE(name);
        CAPTURE(result.problems.empty() ? std::string() : netfiles::show(result.problems[0], result.files));
        if (!bounds) {
            CHECK(structure != valid);
        }
        refused += structure ? 1 : 0;
    }
    CHECK(refused > kFiles / 4);
    CHECK(refused < kFiles);
    fs::remove_all(folder);
}
