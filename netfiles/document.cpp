#include "netfiles/document.h"

#include <algorithm>
#include <array>
#include <fstream>
#include <string>
#include <utility>

#include "netfiles/markup.h"
#include "netfiles/schema.h"
#include "netfiles/words.h"

namespace ebb::netfiles {
namespace fs = std::filesystem;
namespace {

/// Loads files one inside the other. Includes recurse at most kMostFiles deep.
class Loader {
public:
    Loader(WantedRoot wanted, Report& report, Documents& out) : wanted_(wanted), report_(report), out_(out) {}

    void load_path(const fs::path& path) {
        std::error_code error;
        const fs::path real = fs::canonical(path, error);
        std::string text;
        if (error || !slurp(real, path.string(), {}, text)) {
            if (error) {
                complain("no-such-file", "the file " + printable(path.string(), 200) + " cannot be opened", "check its name and where it is", {});
            }
            return;
        }
        begin_at(real);
        add_file(path.string(), std::move(text), true);
    }

    void load_as(const fs::path& path, std::string text) {
        std::error_code error;
        const fs::path real = fs::weakly_canonical(path, error);
        begin_at(error ? fs::absolute(path, error) : real);
        add_file(path.string(), std::move(text), true);
    }

    void load_text(std::string text, const std::string& name) { add_file(name, std::move(text), true); }

private:
    void begin_at(const fs::path& real) {
        folder_ = real.parent_path();
        seen_.push_back(real);
        chain_.push_back(real);
    }

    void complain(std::string code, std::string says, std::string advice, layout::Place place, layout::Place other = {}) {
        report_.add({std::move(code), "", std::move(says), std::move(advice), ""}, place, other);
    }

    bool slurp(const fs::path& path, const std::string& shown, layout::Place place, std::string& text) {
        std::error_code error;
        if (!fs::is_regular_file(path, error)) {
            complain("no-such-file", printable(shown, 200) + " is not a file", "name a layout file", place);
            return false;
        }
        const std::uintmax_t size = fs::file_size(path, error);
        if (error || size > kLargestFile) {
            complain("file-too-large", printable(shown, 200) + " is larger than 1 GiB", "check that it is a layout file", place);
            return false;
        }
        std::ifstream stream(path, std::ios::binary);
        text.resize(static_cast<std::size_t>(size));
        stream.read(text.data(), static_cast<std::streamsize>(size));
        if (!stream) {
            complain("no-such-file", printable(shown, 200) + " cannot be read", "check who may read it", place);
            return false;
        }
        return true;
    }

    void add_file(std::string shown, std::string text, bool first) {
        const auto index = static_cast<std::int32_t>(out_.files.size());
        const bool marked = text.starts_with("\xEF\xBB\xBF");  // a mark some editors leave at the beginning of UTF-8
        if (marked) {
            text.erase(0, 3);
        }
        out_.files.emplace_back(std::move(shown), std::move(text));
        if (marked) {
            out_.files.back().note_byte_order_mark();
        }
        if (!check_markup(out_.files.back(), index, report_)) {
            return;
        }
        auto document = std::make_unique<pugi::xml_document>();
        const std::string& held = out_.files.back().text();
        const pugi::xml_parse_result parsed = document->load_buffer(held.data(), held.size(), pugi::parse_default, pugi::encoding_utf8);
        if (!parsed) {
            const auto offset = static_cast<std::size_t>(std::max<std::ptrdiff_t>(parsed.offset, 0));
            complain("bad-markup", std::string("the file cannot be read as XML: ") + parsed.description(), "mend the markup here",
                     out_.files.back().place_of(offset, index));
            return;
        }
        const pugi::xml_node root = document->document_element();
        out_.documents.push_back(std::move(document));
        if (!right_root(root, index, first)) {
            return;
        }
        if (first) {
            out_.root = root;
        }
        take_children(root, index);
    }

    bool right_root(const pugi::xml_node& root, std::int32_t index, bool first) {
        const std::string_view name = root.name();
        if (wanted_ == WantedRoot::readings) {
            if (name == "readings") return true;
            complain("wrong-root", "the file begins with <" + printable(name) + ">",
                     name == "layout" ? "this is a layout; name it first, and then a file that begins with <readings>"
                                      : "a readings file begins with <readings>",
                     netfiles::place_of(out_, root, index));
            return false;
        }
        const bool catalogue_allowed = !first || wanted_ == WantedRoot::catalogue_or_layout;
        if (name == "layout" || (name == "catalogue" && catalogue_allowed)) {
            return true;
        }
        if (name == "catalogue") {
            complain("wrong-root", "this file is a catalogue, not a layout", "name the layout file that includes it",
                     netfiles::place_of(out_, root, index));
            return false;
        }
        if (name == "readings") {
            complain("wrong-root", "this file holds readings, not a layout", "name the layout file first: diagnose LAYOUT READINGS",
                     netfiles::place_of(out_, root, index));
            return false;
        }
        complain("wrong-root", "the file begins with <" + printable(name) + ">", "a layout file begins with <layout>, a catalogue with <catalogue>",
                 netfiles::place_of(out_, root, index));
        return false;
    }

    void take_children(const pugi::xml_node& root, std::int32_t index) {
        const bool catalogue = std::string_view(root.name()) == "catalogue";
        const ElementRule& rule = *find_element(catalogue ? "catalogue" : "layout");
        for (const pugi::xml_node& child : root.children()) {
            if (std::string_view(child.name()) == "include" && wanted_ != WantedRoot::readings) {
                include(child, index);
                continue;
            }
            if (catalogue && child.type() == pugi::node_element && !may_hold(rule, child.name()) && find_element(child.name()) != nullptr) {
                complain("misplaced-element", "<" + std::string(child.name()) + "> cannot stand in a catalogue",
                         "a catalogue holds pump-model, pipe-series, prices, fitting-kind and include; make the root <layout>",
                         netfiles::place_of(out_, child, index));
                continue;
            }
            out_.nodes.push_back({child, index});
        }
    }

    void include(const pugi::xml_node& node, std::int32_t index) {
        const layout::Place here = netfiles::place_of(out_, node, index);
        check_include(node, here, index);
        const std::string name = node.attribute("file").value();
        if (name.empty() || report_.full()) {
            return;
        }
        const layout::Place place = netfiles::place_of_attribute(out_, node, index, "file");
        if (chain_.empty()) {
            return complain("include-refused", "include is refused here: the layout is not in a file", "put the text itself here", place);
        }
        std::error_code error;
        const fs::path written(name);
        const fs::path real = fs::canonical(written.is_absolute() ? written : chain_.back().parent_path() / written, error);
        if (error) {
            return complain("no-such-file", "the file \"" + printable(name) + "\" cannot be opened",
                            "check its name; it is looked for from the folder of this file", place);
        }
        const auto [end, ignored] = std::mismatch(folder_.begin(), folder_.end(), real.begin(), real.end());
        if (end != folder_.end()) {
            return complain("include-outside", "the file \"" + printable(name) + "\" lies outside the folder of the layout",
                            "move it into that folder or below it", place);
        }
        if (std::ranges::find(chain_, real) != chain_.end()) {
            return complain("include-circle", "the file \"" + printable(name) + "\" includes itself, directly or through others",
                            "take one of the includes out", place);
        }
        if (std::ranges::find(seen_, real) != seen_.end()) {
            return complain("include-twice", "the file \"" + printable(name) + "\" is included twice", "take one of the includes out", place);
        }
        if (out_.files.size() >= kMostFiles) {
            return complain("include-too-many", "more than " + std::to_string(kMostFiles) + " files are included", "put them together", place);
        }
        std::string text;
        if (slurp(real, name, place, text)) {
            seen_.push_back(real);
            chain_.push_back(real);
            const fs::path beside = fs::path(out_.files[static_cast<std::size_t>(index)].path()).parent_path() / written;
            add_file(beside.lexically_normal().string(), std::move(text), false);
            chain_.pop_back();
        }
    }

    void check_include(const pugi::xml_node& node, layout::Place here, std::int32_t index) {
        if (node.attribute("file").empty() || std::string_view(node.attribute("file").value()).empty()) {
            complain("missing-attribute", "<include> does not say which file", "write <include file=\"pumps.xml\"/>", here);
        }
        for (const pugi::xml_attribute& attribute : node.attributes()) {
            if (std::string_view(attribute.name()) != "file") {
                complain("unknown-attribute", "<include> has no attribute " + printable(attribute.name()), "write <include file=\"pumps.xml\"/>",
                         place_of_attribute(out_, node, index, attribute.name()));
            }
        }
        if (node.first_child()) {
            complain("misplaced-element", "<include> holds something", "write <include file=\"pumps.xml\"/> and nothing inside", here);
        }
    }

    WantedRoot wanted_;
    Report& report_;
    Documents& out_;
    fs::path folder_;
    std::vector<fs::path> seen_;
    std::vector<fs::path> chain_;
};

}  // namespace

Documents load_documents(const fs::path& path, WantedRoot wanted, Report& report) {
    Documents documents;
    Loader(wanted, report, documents).load_path(path);
    return documents;
}

Documents load_text(std::string text, const std::string& name, WantedRoot wanted, Report& report) {
    Documents documents;
    Loader(wanted, report, documents).load_text(std::move(text), name);
    return documents;
}

Documents load_as(const fs::path& path, std::string text, WantedRoot wanted, Report& report) {
    Documents documents;
    Loader(wanted, report, documents).load_as(path, std::move(text));
    return documents;
}

layout::Place place_of(const Documents& documents, const pugi::xml_node& node, std::int32_t file) {
    std::ptrdiff_t offset = node.offset_debug();
    if (node.type() == pugi::node_element) {
        --offset;  // the parser points at the name, people at the '<'
    }
    return documents.files[static_cast<std::size_t>(file)].place_of(static_cast<std::size_t>(std::max<std::ptrdiff_t>(offset, 0)), file);
}

layout::Place place_of_attribute(const Documents& documents, const pugi::xml_node& node, std::int32_t file, std::string_view attribute) {
    return refine_place(documents.files, place_of(documents, node, file), attribute);
}

}  // namespace ebb::netfiles
