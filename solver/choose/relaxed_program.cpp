// Shape and numbers of the linear program that relaxation.cpp explains. Money is scaled so that costs are below 1e4, flows by a flow that matters;
// heads are in metres. Rows of laws that say nothing for sure in a box are left open, so that the shape, and with it the warm basis, stays.

#include "solver/choose/relaxed_program.h"

#include <algorithm>
#include <cmath>

namespace ebb::choose {

namespace {

constexpr double kInfinity = HUGE_VAL;
constexpr double kPoint = 1e-12;     // an interval narrower than this share of a flow that matters is a point
constexpr double kGreatCost = 1e4;   // costs are scaled to this
constexpr double kSomeShare = 1e-9;  // of a size: less says nothing of its flow

std::size_t at(std::int32_t index) { return static_cast<std::size_t>(index); }

bool same(const Interval& one, const Interval& other) { return one.low == other.low && one.high == other.high; }
bool empty(const Interval& interval) { return interval.low > interval.high; }

}  // namespace

RelaxedProgram::RelaxedProgram(const RelaxedFarm& farm) : farm_(farm), flow_unit_(farm.flow_scale_m3_s) {
    double most = 1e-9;
    for (const Choice& choice : farm.problem->choices) most += *std::max_element(choice.cost.begin(), choice.cost.end());
    money_ = most / kGreatCost;
    add_shares();
    for (const RelaxedCase& one : farm.cases) add_case(one);
    add_cost_row();
    seen_.resize(links_.size());
}

// ------------------------------------------------------------------------------------------------ shape

void RelaxedProgram::add_shares() {
    for (const Choice& choice : farm_.problem->choices) {
        share_.emplace_back();
        for (const double price : choice.cost) {
            share_.back().push_back(program_.add_column(price / money_, 0.0, 1.0));
            costs_.emplace_back(share_.back().back(), price / money_);
        }
        program_.add_row(share_.back(), std::vector<double>(choice.cost.size(), 1.0), 1.0, 1.0);
    }
}

void RelaxedProgram::add_cost_row() {
    std::vector<std::int32_t> columns;
    std::vector<double> values;
    for (const auto& [column, price] : costs_) {
        columns.push_back(column);
        values.push_back(price);
    }
    cost_row_ = program_.add_row(columns, values, -kInfinity, kInfinity);
}

void RelaxedProgram::add_case(const RelaxedCase& one) {
    const network::Network& net = farm_.network();
    for (std::int32_t n = 0; n < net.node_count(); ++n) heads_.push_back(program_.add_column(0.0, -1.0, 1.0));
    for (const RelaxedLink& link : one.links) links_.push_back(add_link(one, link));
    for (const RelaxedPump& pump : one.pumps) add_power(one, pump);
    for (std::size_t n = 0; n < one.balanced.size(); ++n) {
        if (one.balanced[n] == 0) continue;
        const double takes = n < at(net.plain_count) ? net.takes_m3_s[n] : 0.0, slack = one.slack_m3_s[n];
        const auto [columns, signs] = around(one, n);
        program_.add_row(columns, signs, (takes - slack) / flow_unit_, (takes + slack) / flow_unit_);
    }
    feed_rows_.emplace_back();
    for (const RelaxedInflow& wanted : one.inflows) {
        const auto [columns, signs] = around(one, at(net.vessel_node(wanted.vessel)));
        feed_rows_.back().push_back(program_.add_row(columns, signs, -kInfinity, kInfinity));
    }
}

std::pair<std::vector<std::int32_t>, std::vector<double>> RelaxedProgram::around(const RelaxedCase& one, std::size_t node) const {
    std::pair<std::vector<std::int32_t>, std::vector<double>> row;
    for (const auto& [place, sign] : one.touching[node]) {
        row.first.push_back(links_[one.first_flow + place].flow);
        row.second.push_back(sign);
    }
    return row;
}

LinkPlace RelaxedProgram::add_link(const RelaxedCase& one, const RelaxedLink& link) {
    LinkPlace place;
    place.flow = program_.add_column(0.0, -1.0, 1.0);
    if (!link.has_law) return place;
    place.from = shown_column(heads_[one.first_head + at(link.from)], link.from_port_m, place.from_chord);
    place.to = shown_column(heads_[one.first_head + at(link.to)], link.to_port_m, place.to_chord);
    std::vector<std::int32_t> line{place.from, place.to};
    std::vector<double> ones{1.0, -1.0};
    if (link.choice < 0) {
        line.push_back(place.flow);
    } else {
        std::vector<std::int32_t> parts{place.flow};
        for (const std::int32_t x : share_[at(link.choice)]) {
            const std::int32_t t = program_.add_column(0.0, 0.0, 1.0);
            place.part.push_back(t);
            program_.add_row(std::array{t, x}, std::array{1.0, -1.0}, -kInfinity, 0.0);
            for (auto* row : {&parts, &line}) row->insert(row->end(), {x, t});
        }
        std::vector<double> of_parts(parts.size(), -1.0);
        of_parts.front() = 1.0;
        place.flow_row = program_.add_row(parts, of_parts, -kInfinity, kInfinity);
    }
    ones.resize(line.size(), -1.0);
    for (auto* rows : {&place.under, &place.over})
        for (std::int32_t& row : *rows) row = program_.add_row(line, ones, -kInfinity, kInfinity);
    return place;
}

/// The head that a port shows: that of the node where there is no port.
std::int32_t RelaxedProgram::shown_column(std::int32_t head, double port, std::int32_t& chord) {
    if (port == network::kNoPort) return head;
    const std::int32_t column = program_.add_column(0.0, port, kInfinity);
    program_.add_row(std::array{column, head}, std::array{1.0, -1.0}, 0.0, kInfinity);
    chord = program_.add_row(std::array{column, head}, std::array{1.0, -1.0}, -kInfinity, kInfinity);
    return column;
}

void RelaxedProgram::add_power(const RelaxedCase& one, const RelaxedPump& pump) {
    LinkPlace& place = links_[one.first_flow + pump.place];
    place.money_per_w = pump.money_per_w;
    place.speed = pump.speed;
    place.power = program_.add_column(pump.money_per_w / money_, 0.0, kInfinity);
    costs_.emplace_back(place.power, pump.money_per_w / money_);
    for (std::int32_t& row : place.power_rows)
        row = program_.add_row(std::array{place.power, place.flow}, std::array{1.0, -1.0}, -kInfinity, kInfinity);
}

// ------------------------------------------------------------------------------------------------ numbers

void RelaxedProgram::put(const Box& box, const std::vector<std::vector<Interval>>& options) {
    options_ = &options;
    for (std::size_t c = 0; c < share_.size(); ++c)
        for (std::size_t s = 0; s < share_[c].size(); ++s) program_.set_column_bounds(share_[c][s], 0.0, box.may[c][s] != 0 ? 1.0 : 0.0);
    for (std::size_t n = 0; n < heads_.size(); ++n) program_.set_column_bounds(heads_[n], box.head[n].low, box.head[n].high);
    for (std::size_t a = 0; a < farm_.cases.size(); ++a) {
        const RelaxedCase& one = farm_.cases[a];
        for (std::size_t i = 0; i < one.links.size(); ++i) put_link(box, one, i);
        for (std::size_t i = 0; i < one.inflows.size(); ++i) put_inflow(box, one, one.inflows[i], feed_rows_[a][i]);
    }
}

void RelaxedProgram::put_link(const Box& box, const RelaxedCase& one, std::size_t i) {
    const RelaxedLink& link = one.links[i];
    const std::size_t index = one.first_flow + i;
    const LinkPlace& place = links_[index];
    const Interval& flow = box.flow[index];
    if (link.has_law) {
        put_port({place.from, place.from_chord, heads_[one.first_head + at(link.from)], link.from_port_m}, box.head[one.first_head + at(link.from)]);
        put_port({place.to, place.to_chord, heads_[one.first_head + at(link.to)], link.to_port_m}, box.head[one.first_head + at(link.to)]);
    }
    std::vector<Interval> now = (*options_)[index];
    now.push_back(flow);
    if (seen_[index].size() == now.size() && std::equal(now.begin(), now.end(), seen_[index].begin(), same)) return;
    seen_[index] = std::move(now);
    const double slack = farm_.flow_slack_m3_s();
    program_.set_column_bounds(place.flow, (flow.low - slack) / flow_unit_, (flow.high + slack) / flow_unit_);
    if (place.power >= 0) put_power(place, farm_.network().pumps[at(farm_.network().links[at(link.link)].law_index)], flow);
    if (!link.has_law) return;
    if (place.flow_row >= 0) put_parts(link, index);
    for (std::size_t k = 0; k < kLines; ++k) {
        program_.set_row_bounds(place.under[k], -kInfinity, kInfinity);
        program_.set_row_bounds(place.over[k], -kInfinity, kInfinity);
    }
    if (link.holds_from_below(flow)) put_lines(one, link, index, true);
    if (link.holds_from_above(flow)) put_lines(one, link, index, false);
}

/// shown <= the chord of max(level, port) between the ends of the level.
void RelaxedProgram::put_port(const PortPlace& place, const Interval& level) {
    if (place.chord < 0) return;
    const Interval show = shown(level, place.port_m);
    program_.set_column_bounds(place.column, show.low - kHeadSlack_m, show.high + kHeadSlack_m);
    const double slope = level.width() > kHeadSlack_m ? std::clamp(show.width() / level.width(), 0.0, 1.0) : 1.0;
    program_.set_coefficient(place.chord, place.head, -slope);
    const double most = std::max(show.low - slope * level.low, show.high - slope * level.high);
    program_.set_row_bounds(place.chord, -kInfinity, most + kHeadSlack_m);
}

void RelaxedProgram::put_parts(const RelaxedLink& link, std::size_t index) {
    const LinkPlace& place = links_[index];
    const auto& x = share_[at(link.choice)];
    for (std::size_t s = 0; s < x.size(); ++s) {
        const Interval& q = (*options_)[index][s];
        program_.set_coefficient(place.flow_row, x[s], empty(q) ? 0.0 : -q.low / flow_unit_);
        program_.set_coefficient(place.flow_row, place.part[s], empty(q) ? 0.0 : -q.width() / flow_unit_);
    }
    const double slack = farm_.flow_slack_m3_s() / flow_unit_;
    program_.set_row_bounds(place.flow_row, -slack, slack);
}

std::array<Line, kLines> RelaxedProgram::lines_of(const LinkLaw& law, const Interval& q, bool under) const {
    if (q.width() > kPoint * flow_unit_) return under ? lines_under(law, q.low, q.high) : lines_over(law, q.low, q.high);
    std::array<Line, kLines> flat;
    flat.fill({0.0, law.loss_m(under ? q.low : q.high)});
    return flat;
}

void RelaxedProgram::put_lines(const RelaxedCase& one, const RelaxedLink& link, std::size_t index, bool under) {
    const LinkPlace& place = links_[index];
    const auto& rows = under ? place.under : place.over;
    std::array<double, kLines> constant{};
    for (std::size_t s = 0; s < (*options_)[index].size(); ++s) {
        const Interval& q = (*options_)[index][s];
        std::array<Line, kLines> lines{};
        if (!empty(q)) lines = lines_of(farm_.law(one, link, s), q, under);
        for (std::size_t k = 0; k < kLines; ++k) {
            const double start = empty(q) ? 0.0 : lines[k].offset + lines[k].slope * q.low;
            if (link.choice >= 0) {
                program_.set_coefficient(rows[k], share_[at(link.choice)][s], -start);
                program_.set_coefficient(rows[k], place.part[s], empty(q) ? 0.0 : -lines[k].slope * q.width());
            } else {
                program_.set_coefficient(rows[k], place.flow, -lines[k].slope * flow_unit_);
                // the column of the flow reaches a slack beyond its interval
                constant[k] = lines[k].offset + (under ? -1.0 : 1.0) * std::abs(lines[k].slope) * farm_.flow_slack_m3_s();
            }
        }
    }
    const double slack = 2.0 * kHeadSlack_m;
    for (std::size_t k = 0; k < kLines; ++k) {
        if (under)
            program_.set_row_bounds(rows[k], constant[k] - slack, kInfinity);
        else
            program_.set_row_bounds(rows[k], -kInfinity, constant[k] + slack);
    }
}

void RelaxedProgram::put_power(const LinkPlace& place, const network::PumpLaw& law, const Interval& flow) {
    const physics::PumpDuty duty{.speed = place.speed, .count = law.count, .wear = law.wear};
    const auto lines = lines_under_power(law, place.speed, flow.low, flow.high);
    for (std::size_t k = 0; k < kLines; ++k) {
        program_.set_coefficient(place.power_rows[k], place.flow, -lines[k].slope * flow_unit_);
        program_.set_row_bounds(place.power_rows[k], lines[k].offset - std::abs(lines[k].slope) * farm_.flow_slack_m3_s(), kInfinity);
    }
    double most = std::max(law.curve.power_w(flow.low, duty), law.curve.power_w(flow.high, duty));
    for (const double knot : law.curve.power_knots_m3_s(duty)) most = std::max(most, law.curve.power_w(knot, duty));
    program_.set_column_bounds(place.power, 0.0, 2.0 * most + 1.0);
}

/// The sum of what comes in: of a link that may flow either way its chord, of one that flows out nothing.
void RelaxedProgram::put_inflow(const Box& box, const RelaxedCase& one, const RelaxedInflow& wanted, std::int32_t row) {
    const auto node = at(farm_.network().vessel_node(wanted.vessel));
    double constant = 0.0;
    for (const auto& [place, sign] : one.touching[node]) {
        const Interval& q = box.flow[one.first_flow + place];
        const Interval in = sign > 0.0 ? q : Interval{-q.high, -q.low};
        double slope = in.high <= 0.0 ? 0.0 : 1.0;
        if (in.low < 0.0 && in.high > 0.0) {
            slope = in.high / in.width();
            constant -= slope * in.low;
        }
        program_.set_coefficient(row, links_[one.first_flow + place].flow, slope * sign);
    }
    const double least = least_inflow(farm_, wanted, box.head[one.first_head + node].low);
    const double slack = farm_.flow_slack_m3_s() * static_cast<double>(1 + one.touching[node].size());
    program_.set_row_bounds(row, (least - constant - slack) / flow_unit_, kInfinity);
}

// ------------------------------------------------------------------------------------------------ answers

LinearOutcome RelaxedProgram::solve(double cutoff) { return program_.solve(cutoff < kInfinity ? cutoff / money_ : 1e300); }

double RelaxedProgram::flow_of_size_m3_s(std::size_t place, std::size_t size, double share, const Interval& carried) const {
    if (share < kSomeShare) return carried.low;
    return carried.low + carried.width() * std::clamp(value(links_[place].part[size]) / share, 0.0, 1.0);
}

double RelaxedProgram::money_per_m(std::size_t place, bool under) const {
    double sum = 0.0;
    for (const std::int32_t row : under ? links_[place].under : links_[place].over) sum += std::abs(program_.row_prices()[at(row)]);
    return sum * money_;
}

void RelaxedProgram::ask_for_flows(double cutoff) {
    for (const auto& [column, price] : costs_) program_.set_cost(column, 0.0);
    program_.set_row_bounds(cost_row_, -kInfinity, cutoff / money_);
}

double RelaxedProgram::end_of_flow_m3_s(std::size_t place, double sign) {
    program_.set_cost(links_[place].flow, sign);
    program_.solve();
    const double end = sign * program_.safe_bound() * flow_unit_;
    program_.set_cost(links_[place].flow, 0.0);
    return end;
}

void RelaxedProgram::ask_for_cost() {
    for (const auto& [column, price] : costs_) program_.set_cost(column, price);
    program_.set_row_bounds(cost_row_, -kInfinity, kInfinity);
}

}  // namespace ebb::choose
