#include "cli/views/survey_rows.h"

#include <algorithm>
#include <array>
#include <charconv>
#include <cmath>

#include "cli/views/csv.h"
#include "cli/views/survey_view.h"
#include "solver/survey/counter.h"

namespace ebb::cli {

namespace {

constexpr std::size_t kLongestNumber = 32;

void append_number(double value, std::string& to) {
    to.push_back(',');
    if (!std::isfinite(value)) return;
    if (value == 0.0) {  // never "-0", and the commonest of all
        to.push_back('0');
        return;
    }
    std::array<char, kLongestNumber> digits;  // NOLINT(cppcoreguidelines-pro-type-member-init): written before it is read
    const auto [end, error] = std::to_chars(digits.data(), digits.data() + digits.size(), value);
    to.append(digits.data(), end);
}

void append_whole(std::uint64_t value, std::string& to) {
    std::array<char, kLongestNumber> digits;  // NOLINT(cppcoreguidelines-pro-type-member-init): written before it is read
    const auto [end, error] = std::to_chars(digits.data(), digits.data() + digits.size(), value);
    to.append(digits.data(), end);
}

/// Adds a name to a list of names in one cell. Ids hold no spaces.
void append_name(const std::string& name, bool& first, std::string& to) {
    if (!first) to.push_back(' ');
    first = false;
    to += name;
}

}  // namespace

SurveyRows::SurveyRows(const layout::Layout& layout, const survey::Question& question, const std::vector<survey::TargetColumn>& targets)
    : combinations_(question.switches.size(), question.at_most_off) {
    for (const survey::Switch& one : question.switches) switches_.push_back(switch_id(layout, one));
    for (const survey::TargetColumn& target : targets) targets_.push_back(target_about(layout, target));
    const auto needs_quotes = [](const std::string& id) { return csv_cell(id) != id; };
    quoted_ = std::any_of(switches_.begin(), switches_.end(), needs_quotes) || std::any_of(targets_.begin(), targets_.end(), needs_quotes);
    titles_ = "combination,off,state,targets_missed,missed";
    for (const layout::Vessel& vessel : layout.vessels)
        for (const char* what : {"_inflow_m3_s", "_depth_m", "_spill_m3_s", "_spilled_m3"}) titles_ += ',' + csv_cell(vessel.id + what);
    for (const layout::Pump& pump : layout.pumps)
        for (const char* what : {"_flow_m3_s", "_head_m", "_best_ratio"}) titles_ += ',' + csv_cell(pump.id + what);
    titles_.push_back('\n');
}

std::string SurveyRows::rows(const survey::Block& block) const {
    constexpr std::size_t kRoom = 200, kRoomOfNumber = 12;
    std::string text;
    text.reserve(block.rows * (kRoom + kRoomOfNumber * (4 * block.vessels + 3 * block.pumps)));
    std::uint64_t off = block.rows == 0 ? 0 : combinations_.off_at(block.first);
    for (std::size_t r = 0; r < block.rows; ++r) {
        if (r > 0) off = combinations_.off_after(off);
        row(block, r, off, text);
    }
    return text;
}

void SurveyRows::row(const survey::Block& block, std::size_t r, std::uint64_t off, std::string& to) const {
    append_whole(block.first + r, to);
    const auto names = [&](const std::vector<std::string>& of, auto wanted) {
        to += quoted_ ? ",\"" : ",";
        bool first = true;
        const std::size_t begin = to.size();
        for (std::size_t i = 0; i < of.size(); ++i)
            if (wanted(i) && !(i > 0 && of[i] == of[i - 1] && wanted(i - 1))) append_name(of[i], first, to);  // two targets of one vessel: once
        if (!quoted_) return;
        for (std::size_t at = to.find('"', begin); at != std::string::npos; at = to.find('"', at + 2)) to.insert(at, 1, '"');
        to.push_back('"');
    };
    names(switches_, [&](std::size_t s) { return (off >> s & 1U) != 0; });
    to.push_back(',');
    to += settle::name_of(block.state[r]);
    const auto missed = [&](std::size_t t) { return survey::is_missed(block, r, t); };
    std::uint64_t count = 0;
    for (std::size_t t = 0; t < block.targets; ++t) count += missed(t) ? 1 : 0;
    to.push_back(',');
    append_whole(count, to);
    names(targets_, missed);
    for (std::size_t v = 0; v < block.vessels; ++v) {
        const std::size_t i = r * block.vessels + v;
        append_number(block.inflow_m3_s[i], to);
        append_number(block.depth_m[i], to);
        append_number(block.spill_m3_s[i], to);
        append_number(block.spilled_m3[i], to);
    }
    for (std::size_t p = 0; p < block.pumps; ++p) {
        const std::size_t i = r * block.pumps + p;
        append_number(block.pump_flow_m3_s[i], to);
        append_number(block.pump_head_m[i], to);
        append_number(block.pump_best_ratio[i], to);
    }
    to.push_back('\n');
}

}  // namespace ebb::cli
