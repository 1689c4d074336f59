// A layout written back with changes: byte for byte what it was but for what was changed. The expected texts are written by hand; where changes
// are drawn at random, the attributes of the old and the new text are compared by a general XML parser (pugixml), which knows nothing of the edits.
#include <doctest/doctest.h>
#include <unistd.h>

#include <algorithm>
#include <cmath>
#include <filesystem>
#include <fstream>
#include <iterator>
#include <map>
#include <pugixml.hpp>
#include <random>
#include <string>
#include <vector>

#include "netfiles/rewrite.h"
#include "netfiles/units.h"
#include "tests/near.h"

using namespace ebb;
using netfiles::ReadResult;
using netfiles::Rewrite;
namespace fs = std::filesystem;

namespace {

ReadResult good(std::string text) {
    ReadResult read = netfiles::read_layout_text(std::move(text), "farm.xml");
    for (const layout::Problem& problem : read.problems) {
        FAIL_CHECK(netfiles::show(problem, read.files));
    }
    REQUIRE(read.good());
    return read;
}

std::string slurp(const fs::path& path) {
    std::ifstream stream(path, std::ios::binary);
    return {std::istreambuf_iterator<char>(stream), std::istreambuf_iterator<char>()};
}

void spit(const fs::path& path, const std::string& text) {
    fs::create_directories(path.parent_path());
    std::ofstream(path, std::ios::binary) << text;
}

std::string with(std::string text, const std::string& old, const std::string& now) {
    const std::size_t at = text.find(old);
    REQUIRE_MESSAGE(at != std::string::npos, old);
    REQUIRE_MESSAGE(text.find(old, at + 1) == std::string::npos, old, " stands twice");
    return text.replace(at, old.size(), now);
}

/// The changed text reads, too.
std::string text_of(const Rewrite& rewrite) {
    const ReadResult again = rewrite.reread("farm.xml");
    for (const layout::Problem& problem : again.problems) {
        FAIL_CHECK(netfiles::show(problem, again.files));
    }
    return rewrite.text("farm.xml");
}

const std::string kFarm = R"(<?xml version="1.0" encoding="UTF-8"?>
<!-- a farm --><layout   name = 'a "farm" &amp; more'
  friction="darcy-weisbach" >
  <pond id="UP" level="3 m"/>  <pond id="LOW" level="0 m"/>
  <pump-model name="big &amp; small" greatest-flow="4 m3/h" greatest-head="5 m"/>
  <pump-model name="it's" greatest-flow="5 m3/h" greatest-head="6 m"/>
  <!-- <pipe id="not-this" size="1 mm"/> -->
  <pump   id="P1"
          in="LOW"      model="big &amp; small"   /> <!-- keeps -->
  <pipe-series name='s'><size name="20 mm" bore="16 mm" price-per-metre="1"/><size name="25 mm" bore="21 mm" price-per-metre="2"/></pipe-series>
  <pipe id="a" from="P1" to="UP" length="4 m" size = '20mm' series="s" choose="yes"><valve id="V&lt;1" kind="ball"/>  </pipe>
	<pipe id="b" from="UP" to="LOW" length="5 m"
	      series="s"
	      choose="yes"  ><valve id="V2" kind="gate"/></pipe>
  <arrangement name="one"/>
  <arrangement name="two" based-on="one"><!-- said --><open valve="V2"><!-- why --></open></arrangement>
  <arrangement name="three" based-on="two" >
    <throttle to='40 %' valve="V&lt;1"/> <close valve="V2"/>
    <run pump="P1" speed="90 %"/>
    <!-- the end -->
  </arrangement>
</layout>
<!-- after -->
)";

std::int32_t index_of(const auto& things, std::string_view id) {
    for (std::size_t i = 0; i < things.size(); ++i) {
        if (things[i].id == id) {
            return static_cast<std::int32_t>(i);
        }
    }
    FAIL("no ", std::string(id));
    return -1;
}

}  // namespace

TEST_CASE("nothing changed is the file itself, byte for byte") {
    std::string crlf;
    for (const char c : kFarm) {
        crlf += c == '\n' ? std::string("\r\n") : std::string(1, c);
    }
    for (const std::string& text : {kFarm, "\xEF\xBB\xBF" + kFarm, crlf, "\xEF\xBB\xBF" + crlf}) {
        const ReadResult read = good(text);
        CHECK(Rewrite(read).text("farm.xml") == text);
        Rewrite same(read);  // said again as it is
        same.set_pipe_size(0, "20 mm");
        same.set_pump(0, "big & small", 1);
        same.set_valve_opening(0, 0, 1.0);
        same.set_valve_opening(1, 1, 1.0);
        same.set_valve_opening(2, 0, 0.4);
        same.set_pump_speed(2, 0, 0.9);
        CHECK(same.text("farm.xml") == text);
    }
}

TEST_CASE("sizes and models change between their quotes, or come behind the last attribute") {
    const ReadResult read = good(kFarm);
    Rewrite rewrite(read);
    rewrite.set_pipe_size(0, "25 mm");
    rewrite.set_pipe_size(1, "25 mm");
    rewrite.set_pump(0, "it's", 3);
    std::string wanted = with(kFarm, "size = '20mm'", "size = '25 mm'");
    wanted = with(wanted, "choose=\"yes\"  >", "choose=\"yes\" size=\"25 mm\"  >");
    wanted = with(wanted, "model=\"big &amp; small\"   />", "model=\"it's\" count=\"3\"   />");
    CHECK(text_of(rewrite) == wanted);
    const layout::Layout again = rewrite.reread("farm.xml").layout;
    CHECK(again.pipes[0].bore_m == 0.021);
    CHECK(again.pumps[0].model == 1);
    CHECK(again.pumps[0].count == 3);
}

TEST_CASE("a valve's own line is changed, a missing one added, and what is based on it keeps what it was told") {
    const ReadResult read = good(kFarm);
    const std::int32_t first = index_of(read.layout.valves, "V<1"), second = index_of(read.layout.valves, "V2");
    Rewrite rewrite(read);
    rewrite.set_valve_opening(0, second, 0.4127);  // <arrangement name="one"/>
    rewrite.set_valve_opening(1, second, 0.0);     // an <open> with a comment in it
    rewrite.set_valve_opening(1, first, 0.5);      // all on one line
    rewrite.set_valve_opening(2, first, 1.0);
    rewrite.set_valve_opening(2, second, 0.3125);
    std::string wanted =
        with(kFarm, "<arrangement name=\"one\"/>", "<arrangement name=\"one\">\n    <throttle valve=\"V2\" to=\"41.27 %\"/>\n  </arrangement>");
    wanted =
        with(wanted, "<open valve=\"V2\"><!-- why --></open>", "<close valve=\"V2\"><!-- why --></close><throttle valve=\"V&lt;1\" to=\"50 %\"/>");
    wanted = with(wanted, "<throttle to='40 %' valve=\"V&lt;1\"/>", "<open valve=\"V&lt;1\"/>");
    wanted = with(wanted, "<close valve=\"V2\"/>\n", "<throttle valve=\"V2\" to=\"31.25 %\"/>\n");
    CHECK(text_of(rewrite) == wanted);
    const layout::Layout again = rewrite.reread("farm.xml").layout;
    const auto opening = [&](std::int32_t a, std::int32_t v) { return layout::conditions_of(again, a).valve_opening[static_cast<std::size_t>(v)]; };
    CHECK(opening(0, second) == ebb::test::near(0.4127).epsilon(1e-12));
    CHECK(opening(0, first) == 1.0);
    CHECK(opening(1, second) == 0.0);
    CHECK(opening(1, first) == ebb::test::near(0.5).epsilon(1e-12));
    CHECK(opening(2, first) == 1.0);
    CHECK(opening(2, second) == ebb::test::near(0.3125).epsilon(1e-12));
}

TEST_CASE("pumps: run, stop and speed, before the end of a list that ends with a comment") {
    const ReadResult read = good(kFarm);
    Rewrite rewrite(read);
    rewrite.set_pump_speed(2, 0, 1.0);
    rewrite.set_pump_speed(1, 0, 0.0);
    rewrite.set_valve_opening(2, index_of(read.layout.valves, "V2"), 0.25);
    std::string wanted = with(kFarm, "<run pump=\"P1\" speed=\"90 %\"/>", "<run pump=\"P1\"/>");
    wanted = with(wanted, "</open></arrangement>", "</open><stop pump=\"P1\"/></arrangement>");
    wanted = with(wanted, "<close valve=\"V2\"/>\n", "<throttle valve=\"V2\" to=\"25 %\"/>\n");
    CHECK(text_of(rewrite) == wanted);

    Rewrite other(read);
    other.add_child(read.layout.arrangements[2].place, "<stop pump=\"P1\"/>");
    CHECK(other.text("farm.xml") == with(kFarm, "    <!-- the end -->\n", "    <!-- the end -->\n    <stop pump=\"P1\"/>\n"));
    CHECK_FALSE(other.reread("farm.xml").good());  // it runs and stops: what is wrong is said, and nothing is written
}

TEST_CASE("a base that is set does not move what is set above it, whatever was said in which order") {
    const ReadResult read = good(kFarm);
    const std::int32_t first = index_of(read.layout.valves, "V<1");
    Rewrite rewrite(read);
    rewrite.set_valve_opening(1, first, 1.0);  // as it is, but its base is about to change
    rewrite.set_valve_opening(0, first, 0.3);
    const layout::Layout again = rewrite.reread("farm.xml").layout;
    CHECK(layout::conditions_of(again, 0).valve_opening[0] == ebb::test::near(0.3));
    CHECK(layout::conditions_of(again, 1).valve_opening[0] == 1.0);
    CHECK(layout::conditions_of(again, 2).valve_opening[0] == 0.4);
}

TEST_CASE("a layout without arrangements gets the one it is answered in") {
    const std::string text = "<layout>\r\n\t<pond id=\"A\" level=\"2 m\"/>\r\n\t<pond id=\"B\" level=\"0 m\"/>\r\n\t<pipe id=\"p\" from=\"A\" "
                             "to=\"B\" length=\"3 m\" bore=\"20 "
                             "mm\">\r\n\t\t<valve id=\"V\" kind=\"ball\"/>\r\n\t</pipe>\r\n</layout>\r\n";
    const ReadResult read = good(text);
    Rewrite rewrite(read);
    rewrite.set_valve_opening(0, 0, 0.412);
    CHECK(text_of(rewrite) == with(text, "\t</pipe>\r\n",
                                   "\t</pipe>\r\n\t<arrangement name=\"as drawn\">\r\n\t\t<throttle valve=\"V\" to=\"41.2 "
                                   "%\"/>\r\n\t</arrangement>\r\n"));
    const layout::Layout again = rewrite.reread("farm.xml").layout;
    REQUIRE(again.arrangements.size() == 1);
    CHECK(layout::conditions_of(again, 0).valve_opening[0] == ebb::test::near(0.412).epsilon(1e-12));
}

TEST_CASE("elements replaced, renamed, and stripped of an attribute over several lines") {
    const ReadResult read = good(kFarm);
    Rewrite rewrite(read);
    rewrite.remove_attribute(read.layout.pipes[1].place, "choose");
    rewrite.set_attribute(read.layout.pipes[1].place, "size", "20 mm");
    rewrite.replace_element(read.layout.arrangements[0].place, "<arrangement name=\"one\"><close valve=\"V2\"/></arrangement>");
    rewrite.set_attribute(read.layout.arrangements[1].place, "name", "\"<2>\" & 'more'");
    rewrite.set_attribute(read.layout.arrangements[2].place, "based-on", "\"<2>\" & 'more'");
    std::string wanted = with(kFarm, "series=\"s\"\n\t      choose=\"yes\"  >", "series=\"s\" size=\"20 mm\"  >");
    wanted = with(wanted, "<arrangement name=\"one\"/>", "<arrangement name=\"one\"><close valve=\"V2\"/></arrangement>");
    wanted = with(wanted, "name=\"two\"", "name=\"&quot;&lt;2>&quot; &amp; 'more'\"");
    wanted = with(wanted, "based-on=\"two\"", "based-on=\"&quot;&lt;2>&quot; &amp; 'more'\"");
    CHECK(text_of(rewrite) == wanted);
    CHECK(rewrite.reread("farm.xml").layout.arrangements[1].name == "\"<2>\" & 'more'");
}

TEST_CASE("shares are written briefly and read back") {
    CHECK(netfiles::share_text(0.4127) == "41.27 %");
    CHECK(netfiles::share_text(1.0) == "100 %");
    CHECK(netfiles::share_text(0.0) == "0 %");
    CHECK(netfiles::share_text(0.07) == "7 %");
    std::mt19937 dice(7);
    std::uniform_real_distribution<double> uniform(0.0, 1.0);
    for (int i = 0; i < 2000; ++i) {
        const double share = i % 2 == 0 ? uniform(dice) : std::pow(10.0, -12.0 * uniform(dice));
        const netfiles::Quantity read = netfiles::parse_quantity(netfiles::share_text(share), netfiles::Dimension::share);
        REQUIRE(read.good());
        CHECK(std::abs(read.value - share) <= 1e-9 * share);
    }
}

namespace {

class Folder {
public:
    Folder() : path_(fs::temp_directory_path() / ("ebbwright-rewrite-" + std::to_string(::getpid()))) {
        fs::remove_all(path_);
        fs::create_directories(path_);
    }
    ~Folder() { fs::remove_all(path_); }
    Folder(const Folder&) = delete;
    Folder& operator=(const Folder&) = delete;
    fs::path operator/(const std::string& name) const { return path_ / name; }

private:
    fs::path path_;
};

const std::string kWhole = R"(<layout name="in parts">
  <include file="parts/pumps.xml"/> <!-- pumps -->
  <include file="parts/pipes.xml"/>
  <pond id="LOW" level="0 m"/>
</layout>
)";
const std::string kPumps = R"(<catalogue>
  <pump-model name="small" greatest-flow="4 m3/h" greatest-head="5 m"/>
</catalogue>
)";
const std::string kPipes =
    "<?xml version=\"1.0\"?>\r\n<!-- drawn on site -->\r\n<layout>\r\n  <include file=\"deep/ponds.xml\"/>\r\n  <pump id=\"P1\" in=\"LOW\" "
    "model=\"small\"/>\r\n\r\n  <!-- the rise -->\r\n  <pipe id=\"a\" from=\"P1\" to=\"UP\" length=\"4 m\" bore=\"20 mm\"/>\r\n</layout>\r\n<!-- end "
    "-->\r\n";
const std::string kPonds = "<layout>\n  <pond id=\"UP\" level=\"2 m\"/>\n</layout>\n";

}  // namespace

TEST_CASE("includes stay where nothing in them changes, and stand in the text where something does or the folder is another") {
    const Folder folder;
    spit(folder / "farm.xml", kWhole);
    spit(folder / "parts/pumps.xml", kPumps);
    spit(folder / "parts/pipes.xml", kPipes);
    spit(folder / "parts/deep/ponds.xml", kPonds);
    const ReadResult read = netfiles::read_layout(folder / "farm.xml");
    REQUIRE(read.good());
    REQUIRE(read.files.size() == 4);
    const std::string pipes = "<!-- from " + (folder / "parts/pipes.xml").string() + R"( -->
  <!-- drawn on site -->
  <!-- from )" + (folder / "parts/deep/ponds.xml").string() +
                              R"( -->
  <pond id="UP" level="2 m"/>
  <pump id="P1" in="LOW" model="small"/>

  <!-- the rise -->
  <pipe id="a" from="P1" to="UP" length="4 m" bore="20 mm"/>
  <!-- end -->)";

    Rewrite outer(read);
    outer.set_attribute(read.layout.ponds[1].place, "level", "-1 m");
    CHECK(outer.text(folder / "new.xml") == with(kWhole, "level=\"0 m\"", "level=\"-1 m\""));
    CHECK(outer.reread(folder / "new.xml").good());

    Rewrite inner(read);
    inner.set_pump(0, "small", 2);
    const std::string once = with(kWhole, "<include file=\"parts/pipes.xml\"/>", with(pipes, "model=\"small\"", "model=\"small\" count=\"2\""));
    CHECK(inner.text(folder / "new.xml") == once);
    const ReadResult again = inner.reread(folder / "new.xml");
    REQUIRE(again.good());
    CHECK(again.files.size() == 2);
    CHECK(again.layout.pumps[0].count == 2);

    Rewrite nested(read);  // a change two includes deep
    nested.set_attribute(read.layout.ponds[0].place, "level", "2.5 m");
    CHECK(nested.text(folder / "new.xml") == with(kWhole, "<include file=\"parts/pipes.xml\"/>", with(pipes, "level=\"2 m\"", "level=\"2.5 m\"")));

    const std::string alone = outer.text(folder / "elsewhere/new.xml");
    CHECK(alone.find("<include") == std::string::npos);
    const ReadResult elsewhere = outer.reread(folder / "elsewhere/new.xml");
    REQUIRE(elsewhere.good());
    CHECK(elsewhere.files.size() == 1);
    CHECK(elsewhere.layout.pipes[0].length_m == 4.0);
    CHECK(elsewhere.layout.ponds[1].level_m == -1.0);
    CHECK(slurp(folder / "farm.xml") == kWhole);  // the user's own files are as they were
    CHECK(slurp(folder / "parts/pipes.xml") == kPipes);
}

namespace {

/// Every attribute of a file with its includes put in, by the path of its element and its own name.
void gather(const pugi::xml_node& node, const std::string& path, const fs::path& folder, std::map<std::string, int>& seen,
            std::map<std::string, std::string>& all) {
    for (const pugi::xml_node& child : node.children()) {
        if (std::string_view(child.name()) == "include") {
            const fs::path file = folder / child.attribute("file").value();
            pugi::xml_document document;
            REQUIRE(document.load_file(file.c_str()));
            gather(document.document_element(), path, file.parent_path(), seen, all);
            continue;
        }
        const char* key = child.attribute("id") ? "id" : (child.attribute("name") ? "name" : "");
        std::string here = path + "/" + child.name() + ":" + child.attribute(key).value();
        here += "#" + std::to_string(seen[here]++);
        all[here] = "";
        for (const pugi::xml_attribute& attribute : child.attributes()) {
            all[here + "@" + attribute.name()] = attribute.value();
        }
        gather(child, here, folder, seen, all);
    }
}

std::map<std::string, std::string> attributes_of(const std::string& text, const fs::path& folder) {
    pugi::xml_document document;
    REQUIRE(document.load_buffer(text.data(), text.size()));
    std::map<std::string, std::string> all;
    std::map<std::string, int> seen;
    gather(document.document_element(), "", folder, seen, all);
    return all;
}

/// What stands in one and not in the other, or differently.
std::vector<std::string> differences(const std::map<std::string, std::string>& one, const std::map<std::string, std::string>& other) {
    std::vector<std::string> list;
    for (const auto& [key, value] : one) {
        const auto found = other.find(key);
        if (found == other.end() || found->second != value) {
            list.push_back(key);
        }
    }
    for (const auto& [key, value] : other) {
        if (!one.contains(key)) {
            list.push_back(key);
        }
    }
    return list;
}

}  // namespace

TEST_CASE("random changes to the examples: exactly what was wanted, and nothing else") {
    std::mt19937 dice(11);
    std::uniform_real_distribution<double> uniform(0.02, 0.98);
    const auto below = [&](std::size_t limit) { return std::uniform_int_distribution<std::size_t>(0, limit - 1)(dice); };
    int layouts = 0;
    for (const auto& entry : fs::recursive_directory_iterator(std::string(EBB_SOURCE_DIR) + "/examples")) {
        const std::string text = entry.path().extension() == ".xml" ? slurp(entry.path()) : "";
        if (text.find("<layout") == std::string::npos || text.size() > 100'000) {
            continue;
        }
        const ReadResult read = netfiles::read_layout(entry.path());
        if (!read.good()) {
            continue;  // part of another
        }
        ++layouts;
        CAPTURE(entry.path().string());
        const auto before = attributes_of(text, entry.path().parent_path());
        for (int round = 0; round < 6; ++round) {
            const fs::path target = round % 2 == 0 ? entry.path() : fs::temp_directory_path() / "elsewhere" / "new.xml";
            Rewrite rewrite(read);
            std::map<std::string, std::string> wanted = before;
            const std::size_t p = below(read.layout.pipes.size());
            const layout::Pipe& pipe = read.layout.pipes[p];
            const std::string key = std::string("/") + (pipe.gravity ? "drain:" : "pipe:") + pipe.id + "#0@";
            const std::string length = std::to_string(1 + below(99)) + ".25 m";
            rewrite.set_attribute(pipe.place, "length", length);
            rewrite.set_attribute(pipe.place, "exit-loss", "0.75");
            wanted[key + "length"] = length;
            wanted[key + "exit-loss"] = "0.75";
            layout::Conditions stands;
            const auto arrangement = static_cast<std::int32_t>(below(read.layout.arrangements.size()));
            const bool drawn = read.layout.arrangements[static_cast<std::size_t>(arrangement)].place.line < 1;
            if (!read.layout.valves.empty() && !drawn) {
                stands = layout::conditions_of(read.layout, arrangement);
                const std::size_t v = below(read.layout.valves.size());
                const double share = round % 3 == 0 ? 0.0 : (round % 3 == 1 ? 1.0 : uniform(dice));
                rewrite.set_valve_opening(arrangement, static_cast<std::int32_t>(v), share);
                stands.valve_opening[v] = share;
            }
            const ReadResult again = rewrite.reread(target);
            for (const layout::Problem& problem : again.problems) {
                FAIL_CHECK(netfiles::show(problem, again.files));
            }
            REQUIRE(again.good());
            const std::string now = rewrite.text(target);
            CHECK((round % 2 == 0 || now.find("<include ") == std::string::npos));
            const std::string place = "/arrangement:" + read.layout.arrangements[static_cast<std::size_t>(arrangement)].name + "#0/";
            for (const std::string& difference : differences(wanted, attributes_of(now, entry.path().parent_path()))) {
                CAPTURE(difference);
                CHECK(difference.starts_with(place));  // the lines of the one arrangement; what they say is looked at below
            }
            if (stands.valve_opening.empty()) {
                continue;
            }
            const layout::Conditions got = layout::conditions_of(again.layout, arrangement);
            for (std::size_t v = 0; v < stands.valve_opening.size(); ++v) {
                CHECK(std::abs(got.valve_opening[v] - stands.valve_opening[v]) <= 1e-9 * stands.valve_opening[v]);
            }
            CHECK(got.pump_speed == stands.pump_speed);
            CHECK(got.insert == stands.insert);
            CHECK(got.filter_load == stands.filter_load);
        }
    }
    CHECK(layouts >= 3);
}
