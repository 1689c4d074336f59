// Any bytes as a catalogue: pump models, series of pipe, prices and fittings, read as `ebbwright catalogue` does, from a file.
#include <unistd.h>

#include <cmath>
#include <cstddef>
#include <cstdint>
#include <filesystem>
#include <fstream>
#include <string>

#include "netfiles/reader.h"
#include "tests/fuzz/parts/must.h"

namespace {

using namespace ebb;

/// A folder of its own, so that an include finds nothing; taken away at the end.
class Folder {
public:
    Folder() : path_(std::filesystem::temp_directory_path() / ("ebbwright-catalogue-" + std::to_string(getpid()))) {
        std::filesystem::create_directory(path_);
    }
    ~Folder() {
        std::error_code ignored;
        std::filesystem::remove_all(path_, ignored);
    }
    Folder(const Folder&) = delete;
    Folder& operator=(const Folder&) = delete;
    std::filesystem::path file() const { return path_ / "catalogue.xml"; }

private:
    std::filesystem::path path_;
};

}  // namespace

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
    static const Folder folder;
    std::ofstream(folder.file(), std::ios::binary | std::ios::trunc).write(reinterpret_cast<const char*>(data), static_cast<std::streamsize>(size));
    const netfiles::ReadResult read = netfiles::read_catalogue(folder.file());
    fuzz::must_say_something(read.problems);
    for (const auto& problem : read.problems) fuzz::must(!netfiles::show(problem, read.files).empty(), "a complaint can be shown");
    if (!read.good()) return 0;
    for (const auto& series : read.catalogue.series)
        for (const auto& one : series.sizes) {
            fuzz::must(std::isfinite(one.bore_m) && one.bore_m > 0.0, "a size has a bore");
            fuzz::must(netfiles::find_size(series, one.name) != nullptr, "a size is found by its name");
        }
    for (const auto& model : read.layout.pump_models) {
        if (model.curve.empty()) continue;
        const double head_m = model.curve.head(0.0, {}).value;
        fuzz::must(std::isfinite(head_m) && head_m >= 0.0, "a pump has a head at no flow");
    }
    return 0;
}
