// A layout that reads well is written back: without changes it is the same to the last byte; with changes it reads well again and says what it was
// changed to, and nothing else in it is different. Which changes, the bytes of the text decide.
#include <algorithm>
#include <cmath>
#include <cstddef>
#include <cstdint>
#include <span>
#include <string>

#include "netfiles/reader.h"
#include "netfiles/rewrite.h"
#include "tests/fuzz/parts/must.h"
#include "tests/property/random_farm.h"

namespace {

using namespace ebb;

constexpr const char* kNowhere = "/no-such-folder-of-ebbwright/fuzz.xml";

std::uint64_t sum_of(std::span<const std::uint8_t> bytes) {
    std::uint64_t sum = 0xcbf29ce484222325ULL;
    for (const std::uint8_t byte : bytes) sum = (sum ^ byte) * 0x100000001b3ULL;
    return sum;
}

bool near(double one, double other) { return one == other || std::abs(one - other) <= 1e-8 * std::max(std::abs(one), std::abs(other)); }

struct Wanted {
    std::int32_t arrangement = -1, valve = -1, pump = -1, pipe = -1;
    double opening = 0.0, speed = 0.0, wear = 0.0, roughness_m = 0.0;
};

/// One thing of a kind, or -1.
std::int32_t any_of(std::size_t count, test::Random& random) {
    return count == 0 ? -1 : static_cast<std::int32_t>(random.next() % static_cast<std::uint64_t>(count));
}

Wanted change(netfiles::Rewrite& rewrite, const layout::Layout& layout, test::Random& random) {
    Wanted wanted;
    wanted.arrangement = any_of(layout.arrangements.size(), random);
    const bool drawn = layout.arrangements[static_cast<std::size_t>(wanted.arrangement)].place.line < 0;  // added by validate(): stands nowhere
    wanted.valve = drawn ? -1 : any_of(layout.valves.size(), random);
    if (wanted.valve >= 0 && physics::valve_is_one_way(layout.valves[static_cast<std::size_t>(wanted.valve)].kind)) wanted.valve = -1;
    if (wanted.valve >= 0) {
        wanted.opening = random.chance(0.2) ? 0.0 : random.chance(0.2) ? 1.0 : random.uniform(0.001, 1.0);
        rewrite.set_valve_opening(wanted.arrangement, wanted.valve, wanted.opening);
    }
    wanted.pump = any_of(layout.pumps.size(), random);
    if (wanted.pump >= 0) {
        wanted.wear = random.chance(0.3) ? 0.0 : random.uniform(0.0, 0.9);
        rewrite.set_pump_wear(wanted.pump, wanted.wear);
        wanted.speed = drawn ? -1.0 : random.chance(0.3) ? 0.0 : random.uniform(0.1, 1.0);
        if (!drawn) rewrite.set_pump_speed(wanted.arrangement, wanted.pump, wanted.speed);
    }
    wanted.pipe = any_of(layout.pipes.size(), random);
    if (wanted.pipe >= 0) {
        wanted.roughness_m = random.log_uniform(1e-6, 1e-2) * layout.pipes[static_cast<std::size_t>(wanted.pipe)].bore_m;
        if (wanted.roughness_m < 1e-6) wanted.pipe = -1;  // the language has none so smooth but 0
    }
    if (wanted.pipe >= 0) rewrite.set_pipe_roughness(wanted.pipe, wanted.roughness_m);
    return wanted;
}

void hold_the_same(const layout::Layout& before, const layout::Layout& after, const Wanted& wanted) {
    const auto same_count = [](const auto& one, const auto& other) { fuzz::must(one.size() == other.size(), "nothing comes or goes by a rewrite"); };
    same_count(before.vessels, after.vessels);
    same_count(before.pipes, after.pipes);
    same_count(before.valves, after.valves);
    same_count(before.pumps, after.pumps);
    same_count(before.arrangements, after.arrangements);
    same_count(before.routines, after.routines);
    same_count(before.plus_minus, after.plus_minus);
    for (std::size_t i = 0; i < before.pipes.size(); ++i) {
        const bool changed = static_cast<std::int32_t>(i) == wanted.pipe;
        fuzz::must(before.pipes[i].id == after.pipes[i].id, "pipes keep their labels");
        fuzz::must(before.pipes[i].bore_m == after.pipes[i].bore_m && before.pipes[i].length_m == after.pipes[i].length_m, "pipes keep their sizes");
        fuzz::must(near(changed ? wanted.roughness_m : before.pipes[i].roughness_m, after.pipes[i].roughness_m), "roughness is as it was set");
    }
    for (std::size_t i = 0; i < before.pumps.size(); ++i)
        fuzz::must(near(static_cast<std::int32_t>(i) == wanted.pump ? wanted.wear : before.pumps[i].wear, after.pumps[i].wear),
                   "wear is as it was set");
    const auto conditions = layout::conditions_of(after, wanted.arrangement);
    if (wanted.valve >= 0)
        fuzz::must(near(conditions.valve_opening[static_cast<std::size_t>(wanted.valve)], wanted.opening), "a valve stands as set");
    if (wanted.pump >= 0 && wanted.speed >= 0.0)
        fuzz::must(near(conditions.pump_speed[static_cast<std::size_t>(wanted.pump)], wanted.speed), "a pump runs as set");
}

}  // namespace

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
    const std::string text(data, data + size);
    const netfiles::ReadResult read = netfiles::read_layout_as(kNowhere, text);
    if (!read.good()) return 0;
    const netfiles::Rewrite unchanged(read);
    fuzz::must(unchanged.text(kNowhere) == text, "a layout written without changes is the same to the last byte");
    netfiles::Rewrite rewrite(read);
    test::Random random(sum_of({data, size}));
    const Wanted wanted = change(rewrite, read.layout, random);
    const netfiles::ReadResult again = rewrite.reread(kNowhere);
    if (!again.good()) fuzz::broken("a changed layout reads well: " + netfiles::show(again.problems.front(), again.files) + rewrite.text(kNowhere));
    hold_the_same(read.layout, again.layout, wanted);
    return 0;
}
