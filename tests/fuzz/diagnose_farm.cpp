// Any bytes as readings at the first farm of the examples; what reads well, and is not more than a person writes down at a visit or two, is
// diagnosed: probabilities are shares that add up to no more than one, sizes are numbers, and each explanation predicts every reading.
#include <cmath>
#include <cstddef>
#include <cstdint>
#include <string>
#include <vector>

#include "netfiles/reader.h"
#include "netfiles/readings.h"
#include "solver/diagnose/diagnosis.h"
#include "tests/fuzz/parts/must.h"

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
    using namespace ebb;
    constexpr std::size_t kMostReadings = 6, kMostVisits = 2;
    static const netfiles::ReadResult farm = netfiles::read_layout(EBB_SOURCE_DIR "/examples/first.xml");
    fuzz::must(farm.good(), "the first farm of the examples is good");
    const netfiles::ReadingsResult read = netfiles::read_readings_text(std::string(data, data + size), "fuzz.xml", farm.layout);
    const auto& readings = read.readings;
    if (!read.good() || readings.readings.size() > kMostReadings || readings.visits.size() > kMostVisits) return 0;
    std::vector<diagnose::Observable> observables;
    for (const auto& reading : readings.readings) observables.push_back(reading.what);
    diagnose::Signatures signatures(farm.layout, readings.visits, observables);
    diagnose::DiagnosisOptions options;
    options.pairs = false;
    const diagnose::Diagnosis diagnosis = diagnose::diagnose(signatures, readings.readings, {}, options);
    double sum = 0.0;
    for (const auto& explanation : diagnosis.explanations) {
        fuzz::must(explanation.probability >= 0.0 && explanation.probability <= 1.0 + 1e-9, "a probability is a share");
        sum += explanation.probability;
        fuzz::must(explanation.predicted.size() == readings.readings.size(), "an explanation predicts every reading");
        for (const auto& range : explanation.sizes) fuzz::must(std::isfinite(range.best), "a size is a number");
    }
    fuzz::must(sum <= 1.0 + 1e-6, "probabilities add up to no more than one");
    return 0;
}
