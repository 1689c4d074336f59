#pragma once
// The nearest of some words: "did you mean ...?"

#include <cstddef>
#include <span>
#include <string>
#include <string_view>

namespace ebb::layout {

/// Letters changed, added, left out or two neighbours swapped, to come from one word to the other (optimal string alignment); counting
/// stops at `limit + 1`.
std::size_t edit_distance(std::string_view one, std::string_view other, std::size_t limit);

/// The candidate nearest to `word`, capitals and small letters being the same; empty when none is near (a third of its letters, 3 at most).
std::string nearest_word(std::string_view word, std::span<const std::string_view> candidates);

}  // namespace ebb::layout
