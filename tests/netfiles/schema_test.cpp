// The XSDs and the reference parts of docs/layout-format.md and docs/readings-format.md are written from the table of the language; here they are
// held to it. EBB_WRITE_DOCS=1 in the environment writes them anew.
#include <doctest/doctest.h>

#include <cstdlib>
#include <fstream>
#include <iterator>
#include <set>
#include <string>
#include <string_view>
#include <utility>

#include "netfiles/reader.h"
#include "netfiles/readings.h"
#include "netfiles/schema.h"
#include "netfiles/schema_text.h"
#include "netfiles/words.h"
#include "solver/diagnose/fault.h"

using namespace ebb::netfiles;

namespace {

const std::string kDocs = std::string(EBB_SOURCE_DIR) + "/docs/";
const std::string kBegin = "<!-- reference: written from the table of the language -->\n";
const std::string kEnd = "<!-- end of reference -->\n";

std::string slurp(const std::string& path) {
    std::ifstream stream(path, std::ios::binary);
    return {std::istreambuf_iterator<char>(stream), std::istreambuf_iterator<char>()};
}

bool writing() { return std::getenv("EBB_WRITE_DOCS") != nullptr; }

void hold(const std::string& path, const std::string& wanted) {
    if (writing()) {
        std::ofstream(path, std::ios::binary) << wanted;
    }
    CHECK(slurp(path) == wanted);
}

}  // namespace

TEST_CASE("docs/layout.xsd is the table") { hold(kDocs + "layout.xsd", xsd_text("layout")); }

TEST_CASE("docs/catalogue.xsd is the table") { hold(kDocs + "catalogue.xsd", xsd_text("catalogue")); }

TEST_CASE("docs/readings.xsd is the table") { hold(kDocs + "readings.xsd", xsd_text("readings")); }

TEST_CASE("the reference parts of docs/layout-format.md and docs/readings-format.md are the table") {
    const auto held = [](const std::string& page, std::initializer_list<std::string_view> roots) {
        CAPTURE(page);
        const std::string text = slurp(kDocs + page);
        const std::size_t begin = text.find(kBegin);
        const std::size_t end = text.find(kEnd);
        REQUIRE(begin != std::string::npos);
        REQUIRE(end != std::string::npos);
        hold(kDocs + page, text.substr(0, begin + kBegin.size()) + reference_text({roots.begin(), roots.size()}) + text.substr(end));
    };
    held("layout-format.md", {"layout", "catalogue"});
    held("readings-format.md", {"readings"});
}

TEST_CASE("the kinds of docs/readings-format.md are the table of kinds") {
    const std::string begin_mark = "<!-- kinds: written from the table of kinds -->\n", end_mark = "<!-- end of kinds -->\n";
    const std::string text = slurp(kDocs + "readings-format.md");
    const std::size_t begin = text.find(begin_mark);
    const std::size_t end = text.find(end_mark);
    REQUIRE(begin != std::string::npos);
    REQUIRE(end != std::string::npos);
    std::string rows = "| kind | what it is | size | chance at one place |\n|---|---|---|---|\n";
    for (const ebb::diagnose::FaultKindData& kind : ebb::diagnose::fault_kinds()) {
        const std::string size = kind.scale == ebb::diagnose::SizeScale::none
                                     ? std::string()
                                     : brief_number(kind.least) + " to " + brief_number(kind.most) + (*kind.unit == 0 ? "" : " ") + kind.unit;
        rows += std::string("| `") + kind.name + "` | " + kind.title + " | " + size + " | " + brief_number(kind.chance) + " |\n";
    }
    hold(kDocs + "readings-format.md", text.substr(0, begin + begin_mark.size()) + rows + text.substr(end));
}

TEST_CASE("the table hangs together") {
    std::set<std::pair<std::string_view, std::string_view>> names;
    for (const ElementRule& element : all_elements()) {
        CHECK(names.insert({element.name, element.within}).second);
        CHECK((element.within.empty() || may_hold(*find_element(element.within), element.name)));
        CHECK_FALSE(element.says.empty());
        std::set<std::string_view> attributes;
        for (const AttributeRule& attribute : element.attributes) {
            CAPTURE(attribute.name);
            CHECK(attributes.insert(attribute.name).second);
            CHECK_FALSE(attribute.says.empty());
            CHECK((attribute.type == ValueType::word) == !attribute.words.empty());
        }
        for (const ChildRule& child : element.children) {
            CHECK(find_element(child.name, element.name) != nullptr);
        }
    }
}

TEST_CASE("every XML block of docs/layout-format.md reads") {
    const std::string text = slurp(kDocs + "layout-format.md");
    int blocks = 0;
    for (std::size_t at = text.find("```xml\n"); at != std::string::npos; at = text.find("```xml\n", at)) {
        at += 7;
        const std::size_t end = text.find("```", at);
        REQUIRE(end != std::string::npos);
        const std::string block = text.substr(at, end - at);
        const bool whole = block.find("<layout") != std::string::npos;
        const bool catalogue = block.find("<catalogue") != std::string::npos;
        if (!catalogue) {
            const ReadResult result = read_layout_text(whole ? block : "<layout>\n" + block + "</layout>\n", "block of the document");
            for (const auto& problem : result.problems) {
                FAIL_CHECK(show(problem, result.files));
            }
        }
        ++blocks;
        at = end;
    }
    CHECK(blocks >= 5);
}

TEST_CASE("every XML block of docs/readings-format.md reads") {
    const ReadResult farm = read_layout(std::string(EBB_SOURCE_DIR) + "/examples/farm.xml");
    REQUIRE(farm.good());
    const std::string text = slurp(kDocs + "readings-format.md");
    int blocks = 0;
    for (std::size_t at = text.find("```xml\n"); at != std::string::npos; at = text.find("```xml\n", at)) {
        at += 7;
        const std::size_t end = text.find("```", at);
        REQUIRE(end != std::string::npos);
        const ReadingsResult result = read_readings_text(text.substr(at, end - at), "block of the document", farm.layout);
        for (const auto& problem : result.problems) FAIL_CHECK(show(problem, result.files));
        ++blocks;
        at = end;
    }
    CHECK(blocks >= 1);
}
