#pragma once
// Ways of water under pressure from a pump or a supply to what it feeds, and the head along them.

#include <cstdint>
#include <vector>

#include "cli/views/report/profile.h"

namespace ebb::cli::profile {

/// A way: what it passes, from its source to its end, and the pipes between (one fewer).
struct HeadPath {
    std::vector<layout::Ref> things;
    std::vector<std::int32_t> pipes;
};

/// From each pump and supply to each vessel it feeds, the way with the fewest pipes.
std::vector<HeadPath> head_paths(const layout::Layout& layout);

/// What the head at a corner follows when the state changes.
/// (`answer`: only this answer; in another state it is not known).
enum class Follows : std::uint8_t { level, pump, tee, end, answer, nothing };

/// A corner of the line: over which thing, and the head there (NaN: not known, the line goes past it).
struct Corner {
    layout::Ref over;
    double head_m = layout::kNotSaid;
    Follows follows = Follows::nothing;
    std::int32_t vessel = -1;          ///< whose level counts: of `level`, `pump` and `end`
    double port_m = layout::kNotSaid;  ///< of `end`: elevation of the port, below which the head cannot fall
};
std::vector<Corner> corners(const ProfileScene& scene, const HeadPath& path);

/// Index of the longest way, among those on which water flows all along; -1 when it flows on none.
std::int32_t farthest(const ProfileScene& scene, const std::vector<HeadPath>& paths);

/// The highest head along a way; NaN when none is known.
double highest_head(const ProfileScene& scene, const HeadPath& path);

}  // namespace ebb::cli::profile
