// Any text as a name in the page of `report`: as its title, in a heading, an attribute, a table and the data of the script. The page has the same
// elements as with a plain name, whatever the text is. (The whole report of a farm takes seconds: too long to be asked so often.)
#include <cstddef>
#include <cstdint>
#include <nlohmann/json.hpp>
#include <string>

#include "cli/views/report/html.h"
#include "tests/fuzz/parts/must.h"

namespace {

using namespace ebb;
using namespace ebb::cli;

std::string page_with(const std::string& text) {
    pugi::xml_document document;
    const html::Node body = document.append_child("body");
    html::add(body, "h1", {{"title", text}, {"class", "a"}}, text);
    Table table({{text, Align::left}, {"b", Align::right}});
    table.add({text, "1"}, Ink::trouble);
    html::table(body, table, text);
    nlohmann::ordered_json data;
    data["name"] = text;
    return html::written(
        {.title = text, .styles = {}, .scripts = {}, .data = data.dump(-1, ' ', false, nlohmann::ordered_json::error_handler_t::replace)}, body);
}

/// The tags alone, without what stands between their names and '>'; and how many quotes stand inside them.
std::string tags_of(const std::string& page) {
    std::string tags;
    for (std::size_t at = page.find('<'); at != std::string::npos; at = page.find('<', at + 1)) {
        const std::size_t end = page.find_first_of("> \n", at);
        tags += page.substr(at, end == std::string::npos ? end : end - at) + "\n";
    }
    return tags;
}

}  // namespace

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
    static const std::string plain = tags_of(page_with("name"));
    const std::string text = "a" + std::string(data, data + size);  // no caption is written where there is no text
    const std::string page = page_with(text);
    fuzz::must(tags_of(page) == plain, "a name cannot become markup");
    return 0;
}
