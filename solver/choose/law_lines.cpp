// Lines that hold a law from below and above on an interval of flow.
//
// A line of slope a stays under the law f on [l, u] when its offset is at most the least of f(q) - a q there. That least is found in one of two ways.
//
//  - Laws that bend once (Hazen-Williams with local losses, square laws): convex above 0, concave below. On the concave part the least is at an end;
//  on
//    the convex part a tangent at any point q0, f(q) >= f(q0) + f'(q0)(q - q0), is under f, and what it leaves of a q is least at an end: with
//    q0 where the slope is nearly a, next to nothing is lost, and nothing is claimed that q0 would have to be exact for.
//  - All others (Darcy-Weisbach with its passage from laminar to turbulent, filters, pump curves) only never fall: the interval is cut into cells
//    [q_k, q_k+1], in each of which f(q) - a q >= f(q_k) - max(a q_k, a q_k+1). What is lost is the rise of a cell.
//
// Lines over the law are those under its mirror image -f(-q), turned back. Which slopes are taken is a matter of tightness alone, never of truth: of
// the tangents at both ends and of the chord; across 0 of the tangent from the lower end to the convex part, and two above it.
//
// Every offset gives way by a few parts in 1e12 of what was summed, for the rounding.

#include "solver/choose/law_lines.h"

#include <algorithm>
#include <cmath>
#include <vector>

namespace ebb::choose {

namespace {

constexpr std::size_t kCells = 96;
constexpr double kRounding = 4e-12;
constexpr double kInfinity = HUGE_VAL;

std::size_t slot(std::int32_t index) { return static_cast<std::size_t>(index); }

/// Least of f(q) - a q over [low, high] for a law that bends once.
double least_over_bend(const LinkLaw& law, double slope, double low, double high) {
    double least = kInfinity;
    const auto end = [&](double q) { least = std::min(least, law.loss_m(q) - slope * q); };
    if (low < 0.0) {
        end(low);
        end(std::min(high, 0.0));
    }
    if (high <= 0.0) return least;
    const double from = std::max(low, 0.0);
    double left = from, right = high, near = from;
    for (int round = 0; round < 40 && right - left > 1e-9 * high; ++round) {
        near = 0.5 * (left + right);
        (law.at(near).slope < slope ? left : right) = near;
    }
    if (law.at(high).slope <= slope) near = high;
    if (law.at(from).slope >= slope) near = from;
    const physics::ValueSlope touch = law.at(near);
    const double offset = touch.value - touch.slope * near;
    return std::min({least, offset + (touch.slope - slope) * from, offset + (touch.slope - slope) * high});
}

/// The law at the ends of its cells.
std::vector<double> sampled(const LinkLaw& law, double low, double high) {
    std::vector<double> values(kCells + 1);
    for (std::size_t k = 0; k <= kCells; ++k) values[k] = law.loss_m(low + (high - low) * static_cast<double>(k) / kCells);
    return values;
}

double least_over_cells(const std::vector<double>& values, double slope, double low, double high) {
    double least = kInfinity;
    for (std::size_t k = 0; k < kCells; ++k) {
        const double left = low + (high - low) * static_cast<double>(k) / kCells, right = low + (high - low) * static_cast<double>(k + 1) / kCells;
        least = std::min(least, values[k] - std::max(slope * left, slope * right));
    }
    return least;
}

/// Where the tangent from (low, f(low)) touches the law above 0; `high` when that is beyond it.
double touches_at(const LinkLaw& law, double low, double high) {
    const double start = law.loss_m(low);
    double left = 0.0, right = high;
    const auto beyond = [&](double p) {
        const physics::ValueSlope here = law.at(p);
        return here.value - start <= here.slope * (p - low);
    };
    if (!beyond(high)) return high;
    for (int round = 0; round < 25; ++round) {
        const double middle = 0.5 * (left + right);
        (beyond(middle) ? right : left) = middle;
    }
    return right;
}

std::array<double, kLines> slopes_under(const LinkLaw& law, double low, double high) {
    const double chord = (law.loss_m(high) - law.loss_m(low)) / (high - low);
    if (low >= 0.0) return {law.at(low).slope, chord, law.at(high).slope};
    if (high <= 0.0) return law.bends_once() ? std::array{chord, chord, chord} : std::array{chord, law.at(low).slope, law.at(high).slope};
    const double touch = touches_at(law, low, high);
    if (touch >= high) return {chord, chord, chord};
    return {law.at(touch).slope, law.at(0.5 * (touch + high)).slope, law.at(high).slope};
}

}  // namespace

LinkLaw::LinkLaw(const network::Network& network, const network::LinkSetting& setting, const network::Link& link)
    : network_(&network), setting_(&setting), link_(&link) {
    switch (link.law) {
        case network::Law::hazen: {
            const physics::HazenPipe& pipe = network.hazen[slot(link.law_index)];
            bends_once_ = pipe.flow_power >= 1.0 && pipe.flow_power <= 2.0;
            break;
        }
        case network::Law::square: bends_once_ = true; break;
        case network::Law::pump: bends_once_ = setting.resting; break;
        default: break;
    }
}

physics::ValueSlope LinkLaw::at(double flow_m3_s) const {
    const physics::ValueSlope loss = network::loss_at(*network_, *setting_, *link_, sign_ * flow_m3_s, friction_);
    return {sign_ * loss.value, loss.slope};
}

LinkLaw LinkLaw::mirrored() const {
    LinkLaw other = *this;
    other.sign_ = -sign_;
    return other;
}

double LinkLaw::greatest_flow_m3_s(double loss, double low, double high) const {
    if (loss_m(high) <= loss) return high;
    if (loss_m(low) > loss) return -kInfinity;
    double left = low, right = high;
    for (int round = 0; round < 120 && right - left > 1e-7 * std::max(std::abs(left), std::abs(right)); ++round) {
        const double middle = 0.5 * (left + right);
        // Newton from the right end of a convex law does not pass the root: a little less does once it is near, and the bracket closes
        double next = middle;
        if (round % 3 != 2) {
            const physics::ValueSlope here = at(right);
            const double newton = right - (here.value - loss) / here.slope;
            next = newton - 2e-8 * std::abs(newton);
            if (!(next > left && next < right)) next = middle;
        }
        (loss_m(next) > loss ? right : left) = next;
    }
    return right;
}

double LinkLaw::least_flow_m3_s(double loss, double low, double high) const { return -mirrored().greatest_flow_m3_s(-loss, -high, -low); }

std::array<Line, kLines> lines_under(const LinkLaw& law, double low, double high) {
    const std::array<double, kLines> slopes = slopes_under(law, low, high);
    const double most = std::max(std::abs(law.loss_m(low)), std::abs(law.loss_m(high))), farthest = std::max(std::abs(low), std::abs(high));
    std::vector<double> values;
    if (!law.bends_once()) values = sampled(law, low, high);
    std::array<Line, kLines> lines;
    for (std::size_t i = 0; i < kLines; ++i) {
        const double slope = slopes[i];
        const double least = law.bends_once() ? least_over_bend(law, slope, low, high) : least_over_cells(values, slope, low, high);
        lines[i] = {slope, least - kRounding * (most + std::abs(slope) * farthest)};
    }
    return lines;
}

std::array<Line, kLines> lines_over(const LinkLaw& law, double low, double high) {
    std::array<Line, kLines> lines = lines_under(law.mirrored(), -high, -low);
    for (Line& line : lines) line.offset = -line.offset;
    return lines;
}

std::array<Line, kLines> lines_under_power(const network::PumpLaw& law, double speed, double low, double high) {
    std::array<Line, kLines> lines;
    const physics::PumpDuty duty{.speed = speed, .count = law.count, .wear = law.wear};
    if (!law.curve.knows_power()) return lines;
    // the power curve turns only at the points it was drawn through: between neighbours of these flows it rises or falls, and an end is the least
    std::vector<double> flows;
    for (std::size_t k = 0; k <= kCells; ++k) flows.push_back(low + (high - low) * static_cast<double>(k) / kCells);
    for (const double knot : law.curve.power_knots_m3_s(duty))
        if (knot > low && knot < high) flows.push_back(knot);
    std::sort(flows.begin(), flows.end());
    std::vector<double> powers;
    for (const double flow : flows) powers.push_back(law.curve.power_w(flow, duty));
    const double chord = high > low ? (powers.back() - powers.front()) / (high - low) : 0.0;
    const double most = *std::max_element(powers.begin(), powers.end());
    for (std::size_t i = 0; i < kLines; ++i) {
        const double slope = i == 0 ? 0.0 : i == 1 ? chord : 0.5 * chord;
        double least = kInfinity;
        for (std::size_t k = 0; k + 1 < flows.size(); ++k)
            least = std::min(least, std::min(powers[k], powers[k + 1]) - std::max(slope * flows[k], slope * flows[k + 1]));
        lines[i] = {slope, least - kRounding * (most + std::abs(slope) * high)};
    }
    return lines;
}

}  // namespace ebb::choose
