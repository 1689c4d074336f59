#include "cli/views/survey_rows.h"

#include <algorithm>
#include <array>
#include <charconv>
#include <cmath>
#include <tuple>

#include "cli/views/csv.h"
#include "cli/views/survey_view.h"
#include "solver/survey/counter.h"
#include "solver/survey/row.h"

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

/// Doubles the quotes from `begin` on, and ends the cell.
void close_quotes(std::size_t begin, std::string& to) {
    for (std::size_t at = to.find('"', begin); at != std::string::npos; at = to.find('"', at + 2)) to.insert(at, 1, '"');
    to.push_back('"');
}

}  // namespace

SurveyRows::SurveyRows(const layout::Layout& layout, const survey::Question& question, const std::vector<survey::TargetColumn>& targets)
    : layout_(layout), combinations_(question.switches.size(), question.at_most_off) {
    for (const survey::Switch& one : question.switches) switches_.push_back(switch_id(layout, one));
    for (const survey::TargetColumn& target : targets) targets_.push_back(target_about(layout, target));
    const auto needs_quotes = [](const std::string& id) { return csv_cell(id) != id; };
    quoted_ = std::any_of(switches_.begin(), switches_.end(), needs_quotes) || std::any_of(targets_.begin(), targets_.end(), needs_quotes);
    const auto any_needs_quotes = [&](const auto& things) {
        return std::any_of(things.begin(), things.end(), [&](const auto& thing) { return needs_quotes(thing.id); });
    };
    quoted_ = quoted_ || any_needs_quotes(layout.vessels) || any_needs_quotes(layout.pumps) || any_needs_quotes(layout.tees);
    titles_ = "combination,off,state,targets_missed,missed,alarms";
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
    std::vector<survey::Hanging> hanging = block.hanging;
    std::sort(hanging.begin(), hanging.end(), [](const auto& a, const auto& b) { return std::tie(a.row, a.tee) < std::tie(b.row, b.tee); });
    std::size_t begin = 0, end = 0;  // of those of the row
    std::uint64_t off = block.rows == 0 ? 0 : combinations_.off_at(block.first);
    for (std::size_t r = 0; r < block.rows; ++r) {
        if (r > 0) off = combinations_.off_after(off);
        for (begin = end; end < hanging.size() && hanging[end].row == r;) ++end;
        row(block, r, off, Hanging(hanging).subspan(begin, end - begin), text);
    }
    return text;
}

/// "intake-bare:PF spills:B1": what it is and of which thing. Most rows have none.
void SurveyRows::alarms(const survey::Block& block, std::size_t r, Hanging hanging, std::string& to) const {
    if ((block.alarms[r] & static_cast<unsigned>(~survey::kSolvedAlone)) == 0) return;
    bool first = true;
    const auto one = [&](survey::Alarm bit, const std::string& id) {
        append_name(code_of(bit), first, to);
        to.push_back(':');
        to += id;
    };
    for (std::size_t p = 0; p < block.pumps; ++p)
        for (const survey::Alarm bit : {survey::kIntakeBare, survey::kBeyondCurve, survey::kAgainstShut})
            if ((block.pump_alarms[r * block.pumps + p] & bit) != 0) one(bit, layout_.pumps[p].id);
    for (std::size_t v = 0; (block.alarms[r] & (survey::kBelowLeast | survey::kSpills)) != 0 && v < block.vessels; ++v) {
        if (survey::stands_below_least(layout_, block, r, v)) one(survey::kBelowLeast, layout_.vessels[v].id);
        if (survey::spills_over(block, r, v)) one(survey::kSpills, layout_.vessels[v].id);
    }
    for (const survey::Hanging& what : hanging)
        one(what.breaks ? survey::kBelowVapour : survey::kUnderVacuum, layout_.tees[static_cast<std::size_t>(what.tee)].id);
}

void SurveyRows::row(const survey::Block& block, std::size_t r, std::uint64_t off, Hanging hanging, std::string& to) const {
    append_whole(block.first + r, to);
    const auto names = [&](const std::vector<std::string>& of, auto wanted) {
        to += quoted_ ? ",\"" : ",";
        bool first = true;
        const std::size_t begin = to.size();
        for (std::size_t i = 0; i < of.size(); ++i)
            if (wanted(i) && !(i > 0 && of[i] == of[i - 1] && wanted(i - 1))) append_name(of[i], first, to);  // two targets of one vessel: once
        if (quoted_) close_quotes(begin, to);
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
    const std::size_t begin = to.size();
    to += quoted_ ? ",\"" : ",";
    alarms(block, r, hanging, to);
    if (quoted_) close_quotes(begin + 2, to);
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
