// The XSDs and the reference part of docs/layout-format.md are written from the table of the language; here they are held to it.
// EBB_WRITE_DOCS=1 in the environment writes them anew.
#include <doctest/doctest.h>

#include <cstdlib>
#include <fstream>
#include <iterator>
#include <set>
#include <string>
#include <string_view>
#include <utility>

#include "netfiles/reader.h"
#include "netfiles/schema.h"
#include "netfiles/schema_text.h"

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

TEST_CASE("the reference part of docs/layout-format.md is the table") {
    const std::string text = slurp(kDocs + "layout-format.md");
    const std::size_t begin = text.find(kBegin);
    const std::size_t end = text.find(kEnd);
    REQUIRE(begin != std::string::npos);
    REQUIRE(end != std::string::npos);
    hold(kDocs + "layout-format.md", text.substr(0, begin + kBegin.size()) + reference_text() + text.substr(end));
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
