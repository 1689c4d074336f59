#include "solver/choose/design_judge.h"

#include <algorithm>
#include <cmath>
#include <string>

#include "solver/choose/margins.h"

namespace ebb::choose {

namespace {

using layout::said;

std::size_t at(std::int32_t index) { return static_cast<std::size_t>(index); }

constexpr double kSame = 1e-9;                        ///< share by which a figure may pass its limit: solves agree to this
constexpr double kSpills_m3_s = 1e-9;                 ///< a lasting spill
constexpr Kept kNever{.margin = -1.0, .met = false};  ///< what no design may do
constexpr double kSpilled_m3 = 1e-6;                  ///< a spill on the way, as the warnings of an answer have it

class AnswerJudge {
public:
    AnswerJudge(const SizingProblem& problem, std::int32_t arrangement, const settle::Answer& answer, Tally& tally,
                std::vector<Judgement>* judgements)
        : problem_(problem), layout_(*problem.layout), arrangement_(arrangement), answer_(answer), tally_(tally), judgements_(judgements) {}

    void run() {
        for (const settle::Target& target : answer_.targets)
            if (target.asked) judge(target);
        for (const Choice& choice : problem_.choices)
            for (const std::int32_t p : choice.pipes) pipe(p, answer_.pipes[at(p)]);
        for (std::size_t v = 0; v < layout_.vessels.size(); ++v) spills(layout_.vessels[v].id, answer_.vessels[v]);
        for (std::size_t p = 0; p < layout_.pumps.size(); ++p) pump(layout_.pumps[p].id, answer_.pumps[p]);
        for (std::size_t s = 0; s < layout_.siphons.size(); ++s) siphon(layout_.siphons[s].id, answer_.siphons[s]);
        for (const FeedAsked& feed : problem_.feeds)
            if (feed.arrangement == arrangement_) fed(feed, answer_.vessels[at(feed.vessel)].inflow_m3_s);
    }

private:
    void judge(const settle::Target& target) {
        const double margin = margin_of(target);
        tally_.target(margin, target.met, problem_.least_margin);
        if (judgements_ == nullptr) return;
        judgements_->push_back({.arrangement = arrangement_,
                                .about = target.about,
                                .quantity = target.quantity,
                                .is_limit = false,
                                .at_most = target.at_most,
                                .met = has_margin(margin, target.met, problem_.least_margin),
                                .wanted = target.wanted,
                                .got = target.got,
                                .margin = margin});
    }

    /// Takes one limit of the thing called `about`.
    auto taker(const std::string& about) {
        return [this, &about](const char* quantity, bool most, double wanted, double got, const Kept& kept) {
            tally_.limit(kept.margin, kept.met);
            if (judgements_ == nullptr) return;
            judgements_->push_back({.arrangement = arrangement_,
                                    .about = about,
                                    .quantity = quantity,
                                    .is_limit = true,
                                    .at_most = most,
                                    .met = kept.met,
                                    .wanted = wanted,
                                    .got = got,
                                    .margin = kept.margin});
        };
    }

    void pipe(std::int32_t index, const settle::PipeAnswer& a) {
        const layout::Pipe& pipe = layout_.pipes[at(index)];
        const LimitsInForce& limits = problem_.limits;
        const auto take = taker(pipe.id);
        const double flow = std::abs(a.flow_m3_s), velocity = std::abs(a.velocity_m_s);
        if (!pipe.gravity || a.drowned) {
            judge_velocity(problem_, index, velocity, flow, take);
            return;
        }
        if (flow <= kNoWater_m3_s) return;
        if (said(limits.greatest_drain_fill))
            take("fill_ratio", true, limits.greatest_drain_fill, a.fill_ratio, at_most(a.fill_ratio, limits.greatest_drain_fill));
        if (said(limits.least_drain_velocity_m_s))
            take("velocity_m_s", false, limits.least_drain_velocity_m_s, velocity, at_least(velocity, limits.least_drain_velocity_m_s));
    }

    void fed(const FeedAsked& feed, double got_m3_s) {
        const auto take = taker(layout_.vessels[at(feed.vessel)].id);
        take("inflow_m3_s", false, feed.inflow_m3_s, got_m3_s, at_least(got_m3_s, feed.inflow_m3_s));
    }

    void pump(const std::string& id, const settle::PumpAnswer& a) {
        if (a.running && a.intake_bare) taker(id)("intake_bare", true, 0.0, 1.0, kNever);
    }

    /// At given levels nothing is known of how a siphon goes on.
    void siphon(const std::string& id, const settle::SiphonAnswer& a) {
        if (answer_.state == settle::State::given_levels || !(a.dribbles || a.runs_for_ever)) return;
        taker(id)("siphon", true, 0.0, 1.0, kNever);
    }

    void spills(const std::string& vessel, const settle::VesselAnswer& a) {
        const auto take = taker(vessel);
        if (a.spill_m3_s > kSpills_m3_s)
            take("spill_m3_s", true, 0.0, a.spill_m3_s, kNever);
        else if (a.spilled_m3 > kSpilled_m3)
            take("spilled_m3", true, 0.0, a.spilled_m3, kNever);
    }

    const SizingProblem& problem_;
    const layout::Layout& layout_;
    std::int32_t arrangement_;
    const settle::Answer& answer_;
    Tally& tally_;
    std::vector<Judgement>* judgements_;
};

}  // namespace

bool has_margin(double margin, bool met, double least_margin) { return least_margin == 0.0 ? met : margin >= least_margin - kSame; }

void Tally::target(double margin, bool met, double least_margin) {
    worst = std::min(worst, margin);
    of_targets = std::min(of_targets, margin);
    if (has_margin(margin, met, least_margin)) return;
    allowed = false;
    missed += std::max(least_margin - margin, kSame);
}

void Tally::limit(double margin, bool met) {
    worst = std::min(worst, margin);
    if (met) return;
    allowed = limits_kept = false;
    missed += std::max(-margin, kSame);
}

Kept at_most(double got, double wanted) {
    if (std::isnan(got)) return {-1.0, false};
    return {got > 0.0 ? wanted / got - 1.0 : HUGE_VAL, got <= wanted * (1.0 + kSame)};
}

Kept at_least(double got, double wanted) {
    if (std::isnan(got)) return {-1.0, false};
    return {got / wanted - 1.0, got >= wanted * (1.0 - kSame)};
}

void judge_answer(const SizingProblem& problem, std::int32_t arrangement, const settle::Answer& answer, Tally& tally,
                  std::vector<Judgement>* judgements) {
    AnswerJudge(problem, arrangement, answer, tally, judgements).run();
}

}  // namespace ebb::choose
