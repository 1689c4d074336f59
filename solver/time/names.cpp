#include <array>

#include "solver/time/answer.h"

namespace ebb::time {

const char* name_of(Happening what) {
    static constexpr std::array<const char*, 23> kNames = {
        "valve-opens", "valve-closes",      "power-fails", "power-returns", "pump-stops",  "pump-restarts",   "siphon-starts", "siphon-breaks",
        "reaches-lip", "falls-below-lip",   "drained",     "reaches-rim",   "intake-bare", "intake-covered",  "leaves-rim",    "inlet-submerged",
        "inlet-free",  "below-least-depth", "draw-begins", "draw-ends",     "draw-short",  "setting-changes", "hose-ends",
    };
    return kNames[static_cast<std::size_t>(what)];
}

const char* name_of(Ending ending) {
    static constexpr std::array<const char*, 7> kNames = {"not-run", "time-over", "repeats", "still", "chatters", "no-solution", "cancelled"};
    return kNames[static_cast<std::size_t>(ending)];
}

const char* name_of(Repeat repeat) {
    static constexpr std::array<const char*, 5> kNames = {"not-asked", "repeats", "still", "not-yet", "never"};
    return kNames[static_cast<std::size_t>(repeat)];
}

}  // namespace ebb::time
