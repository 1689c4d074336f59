#include "plain_equations.h"

#include <algorithm>
#include <cmath>
#include <limits>
#include <numbers>

namespace peers {

namespace {

constexpr double kGravity = 9.80665;
constexpr double kTwoOverLn10 = 2.0 / std::numbers::ln10;
constexpr double kSpan = 2000.0;  // Reynolds numbers between the two laws

/// What Colebrook-White wants of a pipe: k/(3.7 D), and that to the power 1.11.
struct Rough {
    double share, power;
};

/// X = 1/sqrt(f) of Colebrook-White by Newton from Haaland's explicit formula (1983), to rounding.
double colebrook(const Rough& wall, double reynolds) {
    const double rough = wall.share, smooth = 2.51 / reynolds;
    double x = -1.8 / std::numbers::ln10 * std::log(wall.power + 6.9 / reynolds);
    for (int i = 0; i < 6; ++i) {
        const double inner = rough + smooth * x;
        const double move = (x + kTwoOverLn10 * std::log(inner)) / (1.0 + kTwoOverLn10 * smooth / inner);
        x -= move;
        if (std::abs(move) < 1e-8 * x) break;  // the next one would be below rounding: Newton doubles the digits
    }
    return x;
}

/// f Re^2 and its slope in Re on the turbulent side.
LossSlope turbulent_shape(const Rough& wall, double reynolds) {
    const double x = colebrook(wall, reynolds);
    const double f = 1.0 / (x * x);
    const double pull = kTwoOverLn10 * (2.51 / reynolds) / (wall.share + 2.51 / reynolds * x);
    return {f * reynolds * reynolds, 2.0 * f * reynolds / (1.0 + pull)};
}

}  // namespace

Equations::Law Equations::pipe_law(const Element& e, double viscosity_m2_s) {
    Law law;
    const double area = 0.25 * std::numbers::pi * e.bore_m * e.bore_m;
    law.reynolds_per_flow = e.bore_m / (area * viscosity_m2_s);
    law.turbulent = e.length_m / e.bore_m / (2.0 * kGravity * area * area) / (law.reynolds_per_flow * law.reynolds_per_flow);
    law.laminar = 64.0 * law.turbulent * law.reynolds_per_flow;
    law.rough = e.roughness_m / e.bore_m / 3.7;
    law.rough_power = std::pow(law.rough, 1.11);
    law.k_forward = e.k_forward;
    law.k_reverse = e.k_reverse;
    const LossSlope high = turbulent_shape({law.rough, law.rough_power}, 4000.0);
    const double low = 64.0 * 2000.0, low_slope = 64.0 * kSpan, high_slope = high.slope_m_per_m3_s * kSpan;
    law.c0 = low;
    law.c1 = low_slope;
    law.c2 = 3.0 * (high.loss_m - low) - 2.0 * low_slope - high_slope;
    law.c3 = 2.0 * (low - high.loss_m) + low_slope + high_slope;
    // of f Re^2 over Re from 0 to 4000
    law.content_at_4000 = 32.0 * 2000.0 * 2000.0 + kSpan * (law.c0 + law.c1 / 2.0 + law.c2 / 3.0 + law.c3 / 4.0);
    return law;
}

Equations::Law Equations::pump_law(const Element& e) {
    Law law;
    law.kind = 'u';
    law.x = e.curve_flow_m3_s;
    law.y = e.curve_head_m;
    const std::size_t last = law.x.size() - 1;
    const auto chord = [&](std::size_t i) { return (law.y[i + 1] - law.y[i]) / (law.x[i + 1] - law.x[i]); };
    law.s.resize(last + 1);
    law.s[0] = chord(0);
    law.s[last] = chord(last - 1);
    for (std::size_t i = 1; i < last; ++i) {
        const double h1 = law.x[i] - law.x[i - 1], h2 = law.x[i + 1] - law.x[i], d1 = chord(i - 1), d2 = chord(i);
        law.s[i] = d1 * d2 > 0.0 ? 3.0 * (h1 + h2) / ((2.0 * h2 + h1) / d1 + (h2 + 2.0 * h1) / d2) : 0.0;
    }
    return law;
}

Equations::Equations(const PlainNetwork& network)
    : nodes_(network.nodes), fixed_head_m_(network.fixed_head_m), fixed_drive_m_(network.elements.size(), 0.0) {
    for (const double head : fixed_head_m_) start_head_m_ += head / static_cast<double>(fixed_head_m_.size());
    for (const double taken : network.taken_m3_s) taken_l_s_.push_back(kLitres * taken);
    const int flows = static_cast<int>(network.elements.size());
    std::vector<std::vector<int>> at_node(static_cast<std::size_t>(nodes_));
    for (int l = 0; l < flows; ++l) {
        const Element& e = network.elements[static_cast<std::size_t>(l)];
        if (e.kind == "pipe") laws_.push_back(pipe_law(e, network.viscosity_m2_s));
        if (e.kind == "pump") laws_.push_back(pump_law(e));
        if (e.kind == "square") {
            Law law;
            law.kind = 's';
            law.coefficient = e.coefficient;
            law.core = 1e-8 / e.coefficient;
            laws_.push_back(law);
        }
        ends_.push_back({e.from, e.to});
        start_l_s_.push_back(kLitres * e.start_flow_m3_s);
        column_start_.push_back(static_cast<int>(row_.size()));
        row_.push_back(l);
        values_.push_back(0.0);
        const int ends[] = {std::min(e.from, e.to), std::max(e.from, e.to)};
        for (const int end : ends) {
            const double sign = end == e.from ? -1.0 : 1.0;
            if (end >= nodes_) {
                fixed_drive_m_[static_cast<std::size_t>(l)] += sign * fixed_head_m_[static_cast<std::size_t>(end - nodes_)];
                continue;
            }
            row_.push_back(flows + end);
            values_.push_back(sign);
            at_node[static_cast<std::size_t>(end)].push_back(l);
        }
    }
    for (int n = 0; n < nodes_; ++n) {
        column_start_.push_back(static_cast<int>(row_.size()));
        for (const int l : at_node[static_cast<std::size_t>(n)]) {
            row_.push_back(l);
            values_.push_back(ends_[static_cast<std::size_t>(l)].from == n ? -1.0 : 1.0);
        }
    }
    column_start_.push_back(static_cast<int>(row_.size()));
    seen_x_.assign(laws_.size(), std::numeric_limits<double>::quiet_NaN());
    seen_slope_.assign(laws_.size(), 0.0);
}

LossSlope Equations::law(std::size_t element, double flow) const {
    const Law& law = laws_[element];
    if (law.kind == 's') {
        const double root = std::sqrt(flow * flow + law.core);
        return {law.coefficient * flow * root, law.coefficient * (root + flow * flow / root)};
    }
    if (law.kind == 'u') {
        const std::size_t last = law.x.size() - 1;
        if (flow <= law.x[0]) return {-(law.y[0] + law.s[0] * (flow - law.x[0])), -law.s[0]};
        if (flow >= law.x[last]) return {-(law.y[last] + law.s[last] * (flow - law.x[last])), -law.s[last]};
        const auto i = static_cast<std::size_t>(std::upper_bound(law.x.begin(), law.x.end(), flow) - law.x.begin()) - 1;
        const double h = law.x[i + 1] - law.x[i], t = (flow - law.x[i]) / h, chord = (law.y[i + 1] - law.y[i]) / h;
        const double c2 = 3.0 * chord - 2.0 * law.s[i] - law.s[i + 1], c3 = law.s[i] + law.s[i + 1] - 2.0 * chord;
        return {-(law.y[i] + h * t * (law.s[i] + t * (c2 + t * c3))), -(law.s[i] + t * (2.0 * c2 + 3.0 * t * c3))};
    }
    const double size = std::abs(flow), reynolds = law.reynolds_per_flow * size;
    const double local = (flow >= 0.0 ? law.k_forward : law.k_reverse) * size;
    if (reynolds <= 2000.0) return {(law.laminar + local) * flow, law.laminar + 2.0 * local};
    LossSlope shape;
    if (reynolds >= 4000.0) {
        shape = turbulent_shape({law.rough, law.rough_power}, reynolds);
    } else {
        const double t = (reynolds - 2000.0) / kSpan;
        shape = {law.c0 + t * (law.c1 + t * (law.c2 + t * law.c3)), (law.c1 + t * (2.0 * law.c2 + 3.0 * law.c3 * t)) / kSpan};
    }
    return {std::copysign(law.turbulent * shape.loss_m, flow) + local * flow,
            law.turbulent * shape.slope_m_per_m3_s * law.reynolds_per_flow + 2.0 * local};
}

std::vector<double> Equations::start() const {
    std::vector<double> x = start_l_s_;
    x.resize(static_cast<std::size_t>(size()), start_head_m_);
    return x;
}

void Equations::residual(const double* x, double* f) const {
    const auto flows = laws_.size();
    double* balance = f + flows;
    const double* head = x + flows;
    for (int n = 0; n < nodes_; ++n) balance[n] = -taken_l_s_[static_cast<std::size_t>(n)];
    for (std::size_t l = 0; l < flows; ++l) {
        const LossSlope at = law(l, x[l] / kLitres);
        seen_x_[l] = x[l];
        seen_slope_[l] = at.slope_m_per_m3_s;
        double error = at.loss_m + fixed_drive_m_[l];
        const auto [from, to] = ends_[l];
        if (from < nodes_) {
            error -= head[from];
            balance[from] -= x[l];
        }
        if (to < nodes_) {
            error += head[to];
            balance[to] += x[l];
        }
        f[l] = error;
    }
}

void Equations::put_slopes(const double* x, double* values) const {
    for (std::size_t l = 0; l < laws_.size(); ++l)
        values[column_start_[l]] = (x[l] == seen_x_[l] ? seen_slope_[l] : law(l, x[l] / kLitres).slope_m_per_m3_s) / kLitres;
}

/// Integral of h from 0 to a flow. Turbulent: with s = Re sqrt(f) the loss goes with s^2 and Re = s X(s) without iteration, so that
/// int s^2 dRe = s^2 Re - 2 int s^2 X ds, X = -2 log10(rough + 2.51/s): smooth, left to Gauss and Legendre in ln s.
double Equations::integral(const Law& law, double flow) const {
    if (law.kind == 's') return law.coefficient / 3.0 * (std::pow(flow * flow + law.core, 1.5) - std::pow(law.core, 1.5));
    if (law.kind == 'u') {
        const std::size_t last = law.x.size() - 1;
        double sum = 0.0;
        const auto straight = [](double y, double s, double d) { return d * (y + 0.5 * s * d); };
        if (flow <= law.x[0]) return -straight(law.y[0], law.s[0], flow - law.x[0]);
        for (std::size_t i = 0; i < last && law.x[i] < flow; ++i) {
            const double h = law.x[i + 1] - law.x[i], t = std::min(1.0, (flow - law.x[i]) / h), chord = (law.y[i + 1] - law.y[i]) / h;
            const double c2 = 3.0 * chord - 2.0 * law.s[i] - law.s[i + 1], c3 = law.s[i] + law.s[i + 1] - 2.0 * chord;
            sum += h * t * (law.y[i] + h * t * (law.s[i] / 2.0 + t * (c2 / 3.0 + t * c3 / 4.0)));
        }
        if (flow > law.x[last]) sum += straight(law.y[last], law.s[last], flow - law.x[last]);
        return -sum;
    }
    const double size = std::abs(flow), reynolds = law.reynolds_per_flow * size;
    const double local = (flow >= 0.0 ? law.k_forward : law.k_reverse) * size * size * size / 3.0;
    const double per = law.turbulent / law.reynolds_per_flow;
    if (reynolds <= 2000.0) return per * 32.0 * reynolds * reynolds + local;
    if (reynolds < 4000.0) {
        const double t = (reynolds - 2000.0) / kSpan;
        return per * (32.0 * 2000.0 * 2000.0 + kSpan * t * (law.c0 + t * (law.c1 / 2.0 + t * (law.c2 / 3.0 + t * law.c3 / 4.0)))) + local;
    }
    constexpr double kNode[] = {0.1834346424956498, 0.5255324099163290, 0.7966664774136267, 0.9602898564975363};
    constexpr double kWeight[] = {0.3626837833783620, 0.3137066458778873, 0.2223810344533745, 0.1012285362903763};
    const double s0 = 4000.0 / colebrook({law.rough, law.rough_power}, 4000.0), s1 = reynolds / colebrook({law.rough, law.rough_power}, reynolds);
    const auto cubed_times_x = [&](double ln_s) {
        const double s = std::exp(ln_s);
        return -kTwoOverLn10 * std::log(law.rough + 2.51 / s) * s * s * s;
    };
    const int pieces = 1 + static_cast<int>(std::log(s1 / s0));
    const double half = 0.5 * std::log(s1 / s0) / pieces;
    double sum = 0.0;
    for (int piece = 0; piece < pieces; ++piece)
        for (int i = 0; i < 4; ++i)
            for (const double side : {-1.0, 1.0})
                sum += half * kWeight[i] * cubed_times_x(std::log(s0) + half * (2.0 * piece + 1.0 + side * kNode[i]));
    const double turbulent = s1 * s1 * reynolds - s0 * s0 * 4000.0 - 2.0 * sum;
    return per * (law.content_at_4000 + turbulent) + local;
}

double Equations::content(const double* x) const {
    double sum = 0.0;
    for (std::size_t l = 0; l < laws_.size(); ++l) sum += integral(laws_[l], x[l] / kLitres) * kLitres + fixed_drive_m_[l] * x[l];
    return sum;
}

void Equations::content_gradient(const double* x, double* gradient) const {
    for (std::size_t l = 0; l < laws_.size(); ++l) gradient[l] = law(l, x[l] / kLitres).loss_m + fixed_drive_m_[l];
}

}  // namespace peers
