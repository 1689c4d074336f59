#include "cli/views/strip_chart.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <string_view>

#include "cli/words.h"

namespace ebb::cli {
namespace {

constexpr double kStillM = 0.002;  // a level that moves less draws a straight line
constexpr std::size_t kLeastStrip = 24;
constexpr std::size_t kWidestStrip = 144;

/// The levels of one vessel, one for each column, and the least and greatest of the whole window.
struct Strip {
    std::vector<double> depth_m;
    double least_m = HUGE_VAL, greatest_m = -HUGE_VAL;
};

/// Vessels whose strips look the same.
struct Line {
    std::vector<std::string> names;
    std::string drawn;
    double least_m = HUGE_VAL, greatest_m = -HUGE_VAL;
};

/// The depth at a moment, straight between the rows of the series around it.
class Levels {
public:
    Levels(const time::Series& series, std::size_t vessels) : series_(series), vessels_(vessels) {}

    double at(double t_s, std::size_t vessel) const {
        const auto next = std::lower_bound(series_.t_s.begin(), series_.t_s.end(), t_s);
        if (next == series_.t_s.end()) {
            return depth(series_.t_s.size() - 1, vessel);
        }
        const auto row = static_cast<std::size_t>(next - series_.t_s.begin());
        if (row == 0 || series_.t_s[row] <= series_.t_s[row - 1]) {
            return depth(row, vessel);
        }
        const double share = (t_s - series_.t_s[row - 1]) / (series_.t_s[row] - series_.t_s[row - 1]);
        return std::lerp(depth(row - 1, vessel), depth(row, vessel), share);
    }

    /// Widens least and greatest by every row between two moments.
    void bounds(const StripWish& wish, std::size_t vessel, Strip& strip) const {
        const auto first = std::lower_bound(series_.t_s.begin(), series_.t_s.end(), wish.begin_s) - series_.t_s.begin();
        const auto last = std::upper_bound(series_.t_s.begin(), series_.t_s.end(), wish.end_s) - series_.t_s.begin();
        for (auto row = static_cast<std::size_t>(first); row < static_cast<std::size_t>(last); ++row) {
            strip.least_m = std::min(strip.least_m, depth(row, vessel));
            strip.greatest_m = std::max(strip.greatest_m, depth(row, vessel));
        }
    }

private:
    double depth(std::size_t row, std::size_t vessel) const { return series_.depth_m[row * vessels_ + vessel]; }

    const time::Series& series_;
    std::size_t vessels_;
};

Strip strip_of(const Levels& levels, std::size_t vessel, const StripWish& wish, std::size_t columns) {
    Strip strip;
    levels.bounds(wish, vessel, strip);
    for (std::size_t i = 0; i < columns; ++i) {
        const double share = (static_cast<double>(i) + 0.5) / static_cast<double>(columns);
        const double depth = levels.at(std::lerp(wish.begin_s, wish.end_s, share), vessel);
        strip.depth_m.push_back(depth);
        strip.least_m = std::min(strip.least_m, depth);
        strip.greatest_m = std::max(strip.greatest_m, depth);
    }
    return strip;
}

std::string drawn(const Strip& strip, bool block_letters) {
    constexpr std::array<std::string_view, 9> kBlocks{" ", "\u2581", "\u2582", "\u2583", "\u2584", "\u2585", "\u2586", "\u2587", "\u2588"};
    constexpr std::array<std::string_view, 10> kTenths{"0", "1", "2", "3", "4", "5", "6", "7", "8", "9"};
    const std::size_t heights = block_letters ? kBlocks.size() : kTenths.size();
    const auto letter = [&](std::size_t height) { return block_letters ? kBlocks[height] : kTenths[height]; };
    std::string text;
    for (const double depth : strip.depth_m) {
        const double share = (depth - strip.least_m) / (strip.greatest_m - strip.least_m);
        const double height = std::floor(share * static_cast<double>(heights));
        text += letter(static_cast<std::size_t>(std::clamp(height, 0.0, static_cast<double>(heights - 1))));
    }
    return text;
}

/// Moments under the strips, at their fourths.
std::string scale(const StripWish& wish, std::size_t columns) {
    std::string line;
    constexpr int kParts = 4;
    for (int i = 0; i <= kParts; ++i) {
        const double share = static_cast<double>(i) / kParts;
        const std::string says = Speech::duration(std::lerp(wish.begin_s, wish.end_s, share));
        const double middle = share * static_cast<double>(columns) - share * static_cast<double>(says.size());
        const auto at = static_cast<std::size_t>(std::max(0.0, middle));
        if (at > line.size() || line.empty()) {
            line.append(at - line.size(), ' ').append(says);
        }
    }
    return line;
}

/// One line for all vessels whose strips look the same; `still` takes the names of those whose level does not move.
std::vector<Line> lines_of(const layout::Layout& layout, const time::Series& series, const StripWish& wish, std::size_t columns,
                           std::vector<std::string>& still) {
    const Levels levels(series, layout.vessels.size());
    std::vector<Line> lines;
    for (std::size_t i = 0; i < layout.vessels.size(); ++i) {
        const Strip strip = strip_of(levels, i, wish, columns);
        if (!(strip.greatest_m - strip.least_m > kStillM)) {
            still.push_back(layout.vessels[i].id);
            continue;
        }
        const std::string looks = drawn(strip, wish.block_letters);
        auto same = std::find_if(lines.begin(), lines.end(), [&](const Line& line) { return line.drawn == looks; });
        if (same == lines.end()) {
            same = lines.insert(lines.end(), Line{{}, looks});
        }
        same->names.push_back(layout.vessels[i].id);
        same->least_m = std::min(same->least_m, strip.least_m);
        same->greatest_m = std::max(same->greatest_m, strip.greatest_m);
    }
    return lines;
}

}  // namespace

std::string strip_chart(const layout::Layout& layout, const time::Course& course, const StripWish& wish, const Speech& speech, const Paint& paint) {
    if (course.series.t_s.size() < 2 || !(wish.end_s > wish.begin_s)) {
        return {};
    }
    constexpr std::size_t kBeside = 22;  // margin, gaps, "1100-1200 mm", and names of several that look alike
    std::size_t longest = 0;
    for (const layout::Vessel& vessel : layout.vessels) {
        longest = std::max(longest, width_of(vessel.id));
    }
    const std::size_t taken = 2 * longest + kBeside;
    const std::size_t columns = std::clamp(wish.width > taken ? wish.width - taken : 0, kLeastStrip, kWidestStrip);
    std::vector<std::string> still;
    const std::vector<Line> lines = lines_of(layout, course.series, wish, columns, still);
    constexpr std::size_t kNamed = 1;
    longest = 0;
    for (const Line& line : lines) {
        longest = std::max(longest, width_of(in_few_words(line.names, kNamed)));
    }
    std::string text;
    for (const Line& line : lines) {
        const std::string names = in_few_words(line.names, kNamed);
        const std::string low = speech.height(line.least_m);
        text += fmt::format("  {}{}  {}  {}-{}\n", names, std::string(longest - width_of(names), ' '), line.drawn, low.substr(0, low.rfind(' ')),
                            speech.height(line.greatest_m));
    }
    if (text.empty()) {
        return {};
    }
    text += paint(Ink::quiet, "  " + std::string(longest + 2, ' ') + scale(wish, columns)) + '\n';
    if (!still.empty()) {
        text += wrapped("  still: ", in_few_words(still, still.size()));
    }
    return text;
}

}  // namespace ebb::cli
