// Any bytes as a layout file: the reader must answer with a valid layout or with messages that can be shown, and never crash, hang or throw. Read as
// what stands in a file, an include can only lead to a file in that file's own folder, which is not there.
#include <cmath>
#include <cstddef>
#include <cstdint>
#include <string>
#include <utility>

#include "netfiles/reader.h"
#include "solver/layout/validate.h"
#include "tests/fuzz/parts/must.h"

namespace {

using namespace ebb;

constexpr const char* kNowhere = "/no-such-folder-of-ebbwright/fuzz.xml";

void hold(const netfiles::ReadResult& read) {
    fuzz::must_say_something(read.problems);
    for (const auto& problem : read.problems) fuzz::must(!netfiles::show(problem, read.files).empty(), "a complaint can be shown");
    fuzz::must(read.files.size() <= 1, "nothing but the text itself is read");
    if (!read.good()) return;
    layout::Layout layout = read.layout;
    fuzz::must(layout::validate(layout).empty(), "a layout without complaint is valid");
    fuzz::must_say_something(layout::doubts(read.layout));
    for (const layout::Pipe& pipe : read.layout.pipes)
        fuzz::must(std::isfinite(pipe.length_m) && std::isfinite(pipe.bore_m) && pipe.bore_m > 0.0, "a pipe has a length and a bore");
    for (std::int32_t a = 0; a < static_cast<std::int32_t>(read.layout.arrangements.size()); ++a)
        for (const double opening : layout::conditions_of(read.layout, a).valve_opening)
            fuzz::must(opening >= 0.0 && opening <= 1.0, "an opening is a share");
}

}  // namespace

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
    const std::string text(data, data + size);
    hold(netfiles::read_layout_text(text, "fuzz.xml"));
    if (text.find("<include") != std::string::npos) hold(netfiles::read_layout_as(kNowhere, text));
    return 0;
}
