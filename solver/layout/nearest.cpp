#include "solver/layout/nearest.h"

#include <algorithm>
#include <utility>
#include <vector>

namespace ebb::layout {
namespace {

char lower(char c) { return c >= 'A' && c <= 'Z' ? static_cast<char>(c - 'A' + 'a') : c; }

}  // namespace

std::size_t edit_distance(std::string_view one, std::string_view other, std::size_t limit) {
    const std::size_t longer = std::max(one.size(), other.size());
    const std::size_t shorter = std::min(one.size(), other.size());
    if (longer - shorter > limit || longer > 200) {
        return limit + 1;
    }
    // Rows of the classic table: two before, one before, this one (optimal string alignment).
    std::vector<std::size_t> before_last(other.size() + 1);
    std::vector<std::size_t> last(other.size() + 1);
    std::vector<std::size_t> row(other.size() + 1);
    for (std::size_t j = 0; j <= other.size(); ++j) {
        last[j] = j;
    }
    for (std::size_t i = 1; i <= one.size(); ++i) {
        row[0] = i;
        for (std::size_t j = 1; j <= other.size(); ++j) {
            const std::size_t change = one[i - 1] == other[j - 1] ? 0 : 1;
            row[j] = std::min({last[j] + 1, row[j - 1] + 1, last[j - 1] + change});
            if (i > 1 && j > 1 && one[i - 1] == other[j - 2] && one[i - 2] == other[j - 1]) {
                row[j] = std::min(row[j], before_last[j - 2] + 1);
            }
        }
        std::swap(before_last, last);
        std::swap(last, row);
    }
    return std::min(last[other.size()], limit + 1);
}

std::string nearest_word(std::string_view word, std::span<const std::string_view> candidates) {
    std::string lowered(word.substr(0, 200));
    std::ranges::transform(lowered, lowered.begin(), lower);
    const std::size_t limit = std::max<std::size_t>(1, std::min<std::size_t>(3, (word.size() + 1) / 3));
    std::size_t best = limit + 1;
    std::string_view found;
    for (const std::string_view candidate : candidates) {
        std::string folded(candidate);
        std::ranges::transform(folded, folded.begin(), lower);
        const std::size_t distance = edit_distance(lowered, folded, limit);
        if (distance < best && distance < candidate.size()) {
            best = distance;
            found = candidate;
        }
    }
    return std::string(found);
}

}  // namespace ebb::layout
