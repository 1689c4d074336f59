// Any bytes as a file of readings taken at the first farm of the examples.
#include <cstddef>
#include <cstdint>
#include <string>

#include "netfiles/reader.h"
#include "netfiles/readings.h"
#include "tests/fuzz/parts/must.h"

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
    using namespace ebb;
    static const netfiles::ReadResult farm = netfiles::read_layout(EBB_SOURCE_DIR "/examples/first.xml");
    fuzz::must(farm.good(), "the first farm of the examples is good");
    const netfiles::ReadingsResult read = netfiles::read_readings_text(std::string(data, data + size), "fuzz.xml", farm.layout);
    fuzz::must_say_something(read.problems);
    for (const auto& problem : read.problems) fuzz::must(!netfiles::show(problem, read.files).empty(), "a complaint can be shown");
    return 0;
}
