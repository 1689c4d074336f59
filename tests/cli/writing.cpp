// What the views are made of: JSON and CSV text, quantities as people say them, tables, and the file that appears whole or not at all.
#include <doctest/doctest.h>
#include <sys/stat.h>
#include <unistd.h>

#include <bit>
#include <cmath>
#include <cstdlib>
#include <filesystem>
#include <fstream>
#include <iterator>
#include <limits>
#include <nlohmann/json.hpp>
#include <random>
#include <string>
#include <vector>

#include "cli/output.h"
#include "cli/views/csv.h"
#include "cli/views/json_writer.h"
#include "cli/views/page.h"
#include "cli/views/speech.h"
#include "cli/words.h"

using namespace ebb;

namespace {

/// A folder of its own for one test, gone afterwards.
class Folder {
public:
    Folder() {
        std::string name = (std::filesystem::temp_directory_path() / "ebbwright-writing-XXXXXX").string();
        REQUIRE(::mkdtemp(name.data()) != nullptr);
        path_ = name;
    }
    ~Folder() { std::filesystem::remove_all(path_); }
    Folder(const Folder&) = delete;
    Folder& operator=(const Folder&) = delete;
    std::string file(const char* name) const { return (path_ / name).string(); }
    std::size_t count() const {
        return static_cast<std::size_t>(std::distance(std::filesystem::directory_iterator(path_), std::filesystem::directory_iterator()));
    }

private:
    std::filesystem::path path_;
};

std::string content(const std::string& file) {
    std::ifstream in(file, std::ios::binary);
    return {std::istreambuf_iterator<char>(in), {}};
}

/// What JsonWriter writes when `fill` is done with it.
template <typename Fill>
std::string written(Fill fill) {
    const Folder folder;
    cli::Output output(folder.file("out.json"));
    cli::JsonWriter json(output);
    fill(json);
    json.finish();
    output.finish();
    return content(folder.file("out.json"));
}

}  // namespace

TEST_CASE("every double is written so that another program's parser reads the same double back") {
    // outside check: nlohmann::json, a parser we did not write
    std::mt19937_64 random(20240607);
    std::uniform_int_distribution<std::uint64_t> bits;
    std::vector<double> numbers{0.0,  1.0, -1.0, 0.1, 1e-300, std::numeric_limits<double>::denorm_min(), std::numeric_limits<double>::max(),
                                2e20, 0.3, 5e-4};
    while (numbers.size() < 20000) {
        const auto number = std::bit_cast<double>(bits(random));
        if (std::isfinite(number)) {
            numbers.push_back(number);
        }
    }
    const std::string text = written([&](cli::JsonWriter& json) {
        json.begin_array();
        for (const double number : numbers) {
            json.value(number);
        }
        json.end_array();
    });
    const auto parsed = nlohmann::json::parse(text);
    REQUIRE(parsed.size() == numbers.size());
    std::size_t different = 0;
    for (std::size_t i = 0; i < numbers.size(); ++i) {
        different += parsed[i].get<double>() == numbers[i] ? 0U : 1U;
    }
    CHECK(different == 0);
}

TEST_CASE("JSON has no NaN, no infinity, no minus zero, and hostile text stays text") {
    const std::string hostile = "a\"b\\c\n\t\x01 </script> \xc3\xa9";
    const std::string text = written([&](cli::JsonWriter& json) {
        json.begin_object();
        json.entry("nan", std::nan(""));
        json.entry("infinity", std::numeric_limits<double>::infinity());
        json.entry("zero", -0.0);
        json.entry("words", hostile);
        json.entry("pointer", "literal");
        json.entry("truth", true);
        json.entry("count", 7);
        json.key("empty");
        json.begin_array();
        json.end_array();
        json.end_object();
    });
    CHECK(text.find("-0") == std::string::npos);
    const auto parsed = nlohmann::json::parse(text);
    CHECK(parsed["nan"].is_null());
    CHECK(parsed["infinity"].is_null());
    CHECK(parsed["zero"] == 0.0);
    CHECK(parsed["words"] == hostile);
    CHECK(parsed["pointer"] == "literal");
    CHECK(parsed["truth"] == true);
    CHECK(parsed["count"] == 7);
    CHECK(parsed["empty"].empty());
}

TEST_CASE("a cell of CSV is quoted when it must be (RFC 4180, section 2, rules 5 to 7)") {
    CHECK(cli::csv_cell("plain text") == "plain text");
    CHECK(cli::csv_cell("a,b") == "\"a,b\"");
    CHECK(cli::csv_cell("say \"hm\"") == "\"say \"\"hm\"\"\"");
    CHECK(cli::csv_cell("two\nlines") == "\"two\nlines\"");
    CHECK(cli::csv_number(std::nan("")).empty());
    CHECK(cli::csv_number(0.1) == "0.1");
    CHECK(cli::csv_number(-0.0) == "0");
}

TEST_CASE("quantities are said in the units people use") {
    // factors exact by definition: NIST SP 811 (2008) appendix B: 1 in = 25.4 mm, 1 US gal = 3.785411784 l, 1 ft = 0.3048 m
    const cli::Speech si(layout::UnitSystem::si);
    const cli::Speech us(layout::UnitSystem::us);
    CHECK(si.flow(0.0002) == "12.0 l/min");
    CHECK(si.flow(0.05) == "180 m3/h");
    CHECK(us.flow(0.003785411784 / 60.0 * 3.0) == "3.00 gpm");
    CHECK(si.height(0.1302) == "130 mm");
    CHECK(us.height(0.0254) == "1.0 in");
    CHECK(si.level(-0.05) == "-0.050 m");
    CHECK(si.level(-1e-12) == "0.000 m");
    CHECK(us.level(0.3048 * 3.0 + 0.0254 * 2.2) == "3 ft 2.2 in");
    CHECK(us.level(0.3048 * 4.0 - 1e-6) == "4 ft 0.0 in");
    CHECK(us.level(-0.0254 * 14.0) == "-1 ft 2.0 in");
    CHECK(si.volume(0.594) == "594 l");
    CHECK(us.volume(0.003785411784 * 50.0) == "50.0 gal");
    CHECK(si.velocity(0.31) == "0.31 m/s");
    CHECK(us.velocity(0.3048) == "1.00 ft/s");
    CHECK(us.head(3.048) == "10.00 ft");
    CHECK(cli::Speech::share(0.931) == "93 %");
    CHECK(us.load(4.88242763638305) == "1.00 lb/ft2");  // NIST SP 811 B.9: 1 lb/ft2 = 4.882 428 kg/m2
    CHECK(si.flow(std::nan("")) == "-");
}

TEST_CASE("a figure that rests on a pump's label is said as a band") {
    const cli::Speech si(layout::UnitSystem::si);
    const double one_litre_minute = 0.001 / 60.0;
    CHECK(si.flow(13 * one_litre_minute, {11 * one_litre_minute, 15 * one_litre_minute}) == "11.0-15.0 l/min");
    CHECK(si.flow(13 * one_litre_minute, {}) == "13.0 l/min");
    CHECK(si.flow(13 * one_litre_minute, {900 * one_litre_minute, 1200 * one_litre_minute}) == "900 l/min to 72.0 m3/h");
    CHECK(si.height(0.5, {0.5, 0.5}) == "500 mm");
    CHECK(si.duration(3300.0, {3240.0, 3370.0}) == "54-56 min");
    CHECK(si.duration(3300.0, {2700.0, 4140.0}) == "45-69 min");
    CHECK(si.duration(8000.0, {7560.0, 8640.0}) == "2.1-2.4 h");
    CHECK(si.level(-0.2, {-0.3, -0.1}) == "-0.300 m to -0.100 m");
    CHECK(cli::Speech::about("12 mm", true) == "about 12 mm");
    CHECK(cli::Speech::about("-", true) == "-");
    CHECK(si.height(0.5, {0.499, 0.502}) == "500 mm");  // a band that says no more than its middle
}

TEST_CASE("tables line up, leave out columns with nothing in them, and count characters rather than bytes") {
    cli::Table table({{"name", cli::Align::left}, {"empty"}, {"flow"}});
    table.add({"B\xc3\xa9"
               "d 1",
               "", "9 l/min"});
    table.add({"T", "-", "10.5 l/min"}, cli::Ink::trouble);
    const std::string text = table.text(cli::Paint(false));
    CHECK(text == "  name         flow\n  B\xc3\xa9"
                  "d 1     9 l/min\n! T      10.5 l/min\n");
    CHECK(table.text(cli::Paint(true)).find("\x1b[") != std::string::npos);
}

TEST_CASE("sentences are broken between words") {
    CHECK(cli::wrapped("- ", "one two three", 9) == "- one two\n  three\n");
    CHECK(cli::wrapped("- ", "", 9) == "- \n");
    CHECK(cli::wrapped("", "up to 3 ft 2 in now", 9) == "up to\n3 ft 2 in\nnow\n");
    CHECK(cli::wrapped("", "indivisible", 3) == "indivisible\n");
}

TEST_CASE("lists of names end in a sentence") {
    CHECK(cli::listed({"A"}, 3) == "A");
    CHECK(cli::listed({"A", "B"}, 3) == "A and B");
    CHECK(cli::listed({"A", "B", "C", "D"}, 3) == "A, B, C and D");
    CHECK(cli::listed({"A", "B", "C", "D", "E"}, 3) == "A, B, C and 2 more");
    CHECK(cli::in_few_words({"B1", "B2", "B3", "B4", "R1", "R2"}, 4) == "B1 to B4, R1 and R2");
    CHECK(cli::in_few_words({"B1", "B3", "B5"}, 4) == "B1, B3 and B5");
    CHECK(cli::in_few_words({"feed-T9", "feed-T10", "feed-T11"}, 4) == "feed-T9 to feed-T11");
    CHECK(cli::in_few_words({"T1", "T2", "T3", "b", "d", "f", "h"}, 2) == "T1 to T3, b and 3 more");
    CHECK(cli::in_few_words({}, 4).empty());
    CHECK(cli::nearest_name("coupeld", {"parted", "coupled", "dirty filter"}) == "coupled");
    CHECK(cli::nearest_name("zzzzzz", {"parted", "coupled"}).empty());
}

TEST_CASE("a file of results appears complete or not at all") {
    const Folder folder;
    const std::string file = folder.file("result.txt");
    SUBCASE("not before it is finished") {
        {
            cli::Output output(file);
            output.write("half");
        }
        CHECK(folder.count() == 0);
    }
    SUBCASE("not when large and unfinished: the temporary goes, the old content stays") {
        std::ofstream(file) << "old";
        {
            cli::Output output(file);
            const std::string much(std::size_t{1} << 20U, 'x');
            for (int i = 0; i < 70; ++i) {
                output.write(much);
            }
            CHECK(folder.count() == 2);
        }
        CHECK(folder.count() == 1);
        CHECK(content(file) == "old");
    }
    SUBCASE("whole when finished, with the permissions the old file had") {
        std::ofstream(file) << "old";
        REQUIRE(::chmod(file.c_str(), 0640) == 0);
        cli::Output output(file);
        output.write("new");
        output.finish();
        CHECK(content(file) == "new");
        struct stat status {};
        REQUIRE(::stat(file.c_str(), &status) == 0);
        CHECK((status.st_mode & 0777U) == 0640U);
        CHECK(folder.count() == 1);
    }
    SUBCASE("a link stays a link to the file it names") {
        std::ofstream(file) << "old";
        std::filesystem::create_symlink(file, folder.file("link"));
        cli::Output output(folder.file("link"));
        output.write("new");
        output.finish();
        CHECK(std::filesystem::is_symlink(folder.file("link")));
        CHECK(content(file) == "new");
    }
    SUBCASE("folders and places that are not there are refused before any work") {
        CHECK_THROWS_AS(cli::Output(folder.file("")), cli::OutputFailed);
        CHECK_THROWS_AS(cli::Output(folder.file("missing/result.txt")), cli::OutputFailed);
    }
    SUBCASE("it knows when it would replace what was read") {
        std::ofstream(file) << "layout";
        const cli::Output output(file);
        CHECK(output.overwrites(folder.file("../") + std::filesystem::path(file).parent_path().filename().string() + "/result.txt"));
        CHECK_FALSE(output.overwrites(folder.file("other.txt")));
    }
}
