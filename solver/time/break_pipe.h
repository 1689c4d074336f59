#pragma once
// A pipe broken off: on a copy of the layout it becomes two, and what comes from either side runs out at the break and is gone.
//
// Each piece ends at a pond whose surface lies a metre below the break, through a port at the height of the break: the port law of ponds
// (water leaves only while it stands above the port) lets water out there, against the height of the break and nothing more, and none
// back. Where the break is nobody can know beforehand. The worst place is taken: the lower of the two ends, so that as much water as
// possible can leave. The piece on that side is then a stub of one bore's length without fittings, the other is the whole pipe with all
// its fittings and valves.

#include <cstdint>
#include <string>

#include "solver/layout/layout.h"

namespace ebb::time {

struct BrokenPipe {
    bool found = false;
    std::string why;                                    ///< when not found: why the pipe cannot be broken in this layout
    layout::Layout layout;                              ///< the copy, validated; the things it shares with the layout have the same indices
    std::int32_t pipe = -1;                             ///< the piece on the from side; the other is the last pipe of the copy
    std::int32_t floor_before = -1, floor_beyond = -1;  ///< ponds of the copy that get the water of the from side, and of the to side
    double elevation_m = 0.0;                           ///< of the break
    std::string at_id;                                  ///< the end of the pipe it is at
};

BrokenPipe break_pipe(const layout::Layout& layout, std::int32_t pipe);

}  // namespace ebb::time
