// Any bytes as a layout file: the reader must answer with a layout or with messages, and never crash, hang or throw.
// cmake -S .ci --preset fuzz && cmake --build build/fuzz --target fuzz_read_layout
// build/fuzz/project/tests/fuzz_read_layout -max_total_time=600 CORPUS examples
#include <cstddef>
#include <cstdint>
#include <cstdlib>
#include <string>

#include "netfiles/reader.h"

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
    std::string text(data, data + size);
    const ebb::netfiles::ReadResult result = ebb::netfiles::read_layout_text(std::move(text), "fuzz.xml");
    for (const auto& problem : result.problems)
        if (problem.says.empty()) std::abort();  // a complaint must say something
    return 0;
}
