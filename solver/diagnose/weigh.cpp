#include "solver/diagnose/weigh.h"

#include <algorithm>
#include <cmath>

namespace ebb::diagnose {

namespace {

constexpr double kGridStep = 0.25;  ///< standard deviations of a reading between points of the grid
constexpr double kLeastPoints = 4.0, kMostPoints = 200.0;
constexpr double kSlack = 0.25;          ///< of the change over a segment
constexpr double kStraight = 0.15;       ///< standard deviations: a middle size as near to the line between its neighbours is on it
constexpr double kSmall = 0.3;           ///< standard deviations: a segment over which nothing changes more needs no middle
constexpr double kShort = 1.0 / 2048.0;  ///< of u

/// Largest change of a reading from one solved size to another, in standard deviations; a glance that changes counts many.
double change(const Signatures::Node& x, const Signatures::Node& y, const Scales& scales, std::span<const std::size_t> columns) {
    double most = 0.0;
    for (std::size_t i = 0; i < columns.size(); ++i) {
        const Predicted &p = x.predicted[columns[i]], &q = y.predicted[columns[i]];
        if (std::isnan(p.value) != std::isnan(q.value)) return 1e3;
        if (std::isnan(p.value)) continue;
        if (is_glance(scales.reading(i).what.quantity)) {
            if (p.value != q.value || p.spread != q.spread) most = std::max(most, 10.0);
            continue;
        }
        most = std::max(most, (std::abs(p.value - q.value) + std::abs(p.spread - q.spread)) / scales.reading(i).sigma);
    }
    return most;
}

/// Whether y lies on the line from x to z.
bool on_line(const Signatures::Node& x, const Signatures::Node& y, const Signatures::Node& z, const Scales& scales,
             std::span<const std::size_t> columns) {
    const double share = (y.u - x.u) / (z.u - x.u);
    for (std::size_t i = 0; i < columns.size(); ++i) {
        const Predicted &p = x.predicted[columns[i]], &q = y.predicted[columns[i]], &r = z.predicted[columns[i]];
        if (is_glance(scales.reading(i).what.quantity)) {
            if (p.value != r.value) return false;
            continue;
        }
        const double off = std::abs(p.value + share * (r.value - p.value) - q.value) + std::abs(p.spread + share * (r.spread - p.spread) - q.spread);
        if (!(off <= kStraight * scales.reading(i).sigma)) return false;
    }
    return true;
}

struct Point {
    double u, log_likelihood;
};

}  // namespace

void predicted_at(const Signatures& signatures, std::size_t fault, double u, std::span<const std::size_t> columns, std::span<Predicted> predicted) {
    for (std::size_t i = 0; i < columns.size(); ++i) predicted[i] = signatures.at(fault, u, columns[i]);
}

bool shows(const Signatures& signatures, std::size_t fault, const Scales& scales, std::span<const std::size_t> columns, double share) {
    const std::vector<Predicted>& sound = signatures.sound();
    for (const Signatures::Node& node : signatures.nodes(fault)) {
        if (!node.solved) continue;
        for (std::size_t i = 0; i < columns.size(); ++i) {
            const Predicted &p = node.predicted[columns[i]], &q = sound[columns[i]];
            if (std::isnan(p.value) != std::isnan(q.value)) return true;
            if (std::isnan(p.value)) continue;
            if (is_glance(scales.reading(i).what.quantity)
                    ? p.value != q.value
                    : std::abs(p.value - q.value) + std::abs(p.spread - q.spread) > share * scales.reading(i).sigma)
                return true;
        }
    }
    return false;
}

Weight weigh(const Signatures& signatures, std::size_t fault, const Scales& scales, std::span<const std::size_t> columns, double credible) {
    return weigh(signatures, fault, scales, columns, credible, [&](double, std::span<const Predicted> predicted) { return scales.judge(predicted); });
}

Weight weigh(const Signatures& signatures, std::size_t fault, const Scales& scales, std::span<const std::size_t> columns, double credible,
             const Judge& judge) {
    Weight weight;
    const std::vector<Signatures::Node>& nodes = signatures.nodes(fault);
    std::vector<Predicted> predicted(columns.size());
    std::vector<Point> points;
    const auto look = [&](double u) {
        predicted_at(signatures, fault, u, columns, predicted);
        const Judgement judgement = judge(u, predicted);
        points.push_back({u, judgement.log_likelihood});
        if (judgement.log_likelihood <= weight.log_likelihood && weight.solved) return;
        weight.solved = true;
        weight.log_likelihood = judgement.log_likelihood;
        weight.chi_squared = judgement.chi_squared;
        weight.misread = judgement.misread;
        weight.best_u = u;
    };
    if (!signatures.faults()[fault].sized() || nodes.size() == 1) {
        if (nodes.empty() || !nodes.front().solved) return weight;
        look(nodes.front().u);
        weight.log_evidence = weight.log_likelihood;
        weight.low_u = weight.high_u = weight.best_u;
        return weight;
    }
    // logarithms of the masses of the trapezoids between points, then their sum from the largest down
    struct Slice {
        double low_u, high_u, log_mass;
    };
    std::vector<Slice> slices;
    double largest = -1e300;
    const Fault& which = signatures.faults()[fault];
    const double between = std::log(1.0 - which.at_least - which.at_most);
    const auto end = [&](const Signatures::Node& node, double share) {
        if (share <= 0.0 || !node.solved) return;
        points.clear();
        look(node.u);
        slices.push_back({node.u, node.u, points.back().log_likelihood + std::log(share)});
        largest = std::max(largest, slices.back().log_mass);
    };
    end(nodes.front(), which.at_least);
    for (std::size_t k = 0; k + 1 < nodes.size(); ++k) {
        if (!nodes[k].solved || !nodes[k + 1].solved) continue;
        const double steps = std::clamp(std::ceil(change(nodes[k], nodes[k + 1], scales, columns) / kGridStep), kLeastPoints, kMostPoints);
        points.clear();
        for (double s = 0.0; s <= steps; s += 1.0) look(nodes[k].u + (nodes[k + 1].u - nodes[k].u) * s / steps);
        for (std::size_t j = 0; j + 1 < points.size(); ++j) {
            const double top = std::max(points[j].log_likelihood, points[j + 1].log_likelihood);
            const double mean = 0.5 * (std::exp(points[j].log_likelihood - top) + std::exp(points[j + 1].log_likelihood - top));
            slices.push_back({points[j].u, points[j + 1].u, between + top + std::log(mean * (points[j + 1].u - points[j].u))});
            largest = std::max(largest, slices.back().log_mass);
        }
    }
    end(nodes.back(), which.at_most);
    if (slices.empty()) return weight;
    double sum = 0.0;
    for (const Slice& slice : slices) sum += std::exp(slice.log_mass - largest);
    weight.log_evidence = largest + std::log(sum);
    const double tail = 0.5 * (1.0 - credible);
    double before = 0.0;
    bool low_found = false;
    for (const Slice& slice : slices) {
        const double share = std::exp(slice.log_mass - largest) / sum;
        const auto cut = [&](double at) {
            return slice.low_u + (slice.high_u - slice.low_u) * std::clamp((at - before) / std::max(share, 1e-300), 0.0, 1.0);
        };
        if (!low_found && before + share >= tail) {
            weight.low_u = cut(tail);
            low_found = true;
        }
        if (before + share >= 1.0 - tail || &slice == &slices.back()) {
            weight.high_u = cut(1.0 - tail);
            break;
        }
        before += share;
    }
    return weight;
}

std::vector<Segment> segments_of(const Signatures& signatures, std::size_t fault, const Scales& scales, std::span<const std::size_t> columns) {
    std::vector<Segment> segments;
    const std::vector<Signatures::Node>& nodes = signatures.nodes(fault);
    std::vector<Predicted> predicted(columns.size());
    std::vector<double> slack(columns.size());
    for (std::size_t k = 0; k + 1 < nodes.size(); ++k) {
        const Signatures::Node &low = nodes[k], &high = nodes[k + 1];
        Segment segment{.fault = fault, .low_u = low.u, .high_u = high.u};
        if (!low.solved && !high.solved) {
            segment.straight = true;
            segments.push_back(segment);
            continue;
        }
        segment.straight =
            high.u - low.u < kShort || (low.solved && high.solved && change(low, high, scales, columns) < kSmall) ||
            (k > 0 && nodes[k - 1].solved && low.solved && high.solved && on_line(nodes[k - 1], low, high, scales, columns)) ||
            (k + 2 < nodes.size() && low.solved && high.solved && nodes[k + 2].solved && on_line(low, high, nodes[k + 2], scales, columns));
        for (std::size_t i = 0; i < columns.size(); ++i) {
            const Predicted &p = low.predicted[columns[i]], &q = high.predicted[columns[i]];
            slack[i] = segment.straight || std::isnan(p.value) || std::isnan(q.value) ? 0.0
                       : is_glance(scales.reading(i).what.quantity)                   ? std::abs(p.value - q.value)
                                                                    : kSlack * (std::abs(p.value - q.value) + std::abs(p.spread - q.spread));
        }
        const bool both = low.solved && high.solved;
        double largest = -1e300;
        for (double share = 0.0; share <= 1.0; share += 0.125) {
            for (std::size_t i = 0; i < columns.size(); ++i)
                predicted[i] =
                    both ? signatures.at(fault, low.u + share * (high.u - low.u), columns[i]) : (low.solved ? low : high).predicted[columns[i]];
            largest = std::max(largest, scales.judge(predicted, slack).log_likelihood);
        }
        segment.log_mass = largest + std::log(high.u - low.u);
        segments.push_back(segment);
    }
    return segments;
}

}  // namespace ebb::diagnose
