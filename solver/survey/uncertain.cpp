#include "solver/survey/uncertain.h"

#include <algorithm>
#include <atomic>
#include <cmath>
#include <memory>
#include <mutex>
#include <numeric>

#include "solver/settle/crew.h"
#include "solver/settle/model.h"
#include "solver/survey/lane_settle.h"
#include "solver/survey/normal_points.h"
#include "solver/survey/row.h"

namespace ebb::survey {

namespace {

using layout::Layout;

std::size_t at(std::int32_t index) { return static_cast<std::size_t>(index); }

/// Samples are solved in runs of so many, each from its own beginning, whoever solves them. Of large layouts they are shorter: between runs it is
/// seen whether anybody still waits.
std::size_t samples_of_a_run(const Layout& layout) {
    constexpr std::size_t kLanes = 8, kShortest = 16, kLongest = 128, kPipeSolves = 65'536;
    return std::clamp(kPipeSolves / std::max<std::size_t>(1, layout.pipes.size()) / kLanes * kLanes, kShortest, kLongest);
}

/// Flows of pipes are kept up to so many numbers.
constexpr std::size_t kMostPipeFigures = 40'000'000;

/// Causes are told where they take so many products, figures times uncertainties times samples; a second or ten.
constexpr double kMostProducts = 1e10;

/// So many causes of a figure are looked for.
constexpr int kLeastRounds = 4, kMostRounds = 32;

/// A correlation as small may be by chance: at least this share, and three standard deviations of chance.
constexpr double kSmallestShare = 0.01, kChance = 9.0;

/// What hardly varies is not asked for causes in the summary: spread over middle.
constexpr double kHardlyVaries = 0.005;

/// The layout of each sample in turn, and how a lane gets it.
class SampleRows final : public RowSource {
public:
    SampleRows(const Layout& drawn, const layout::Conditions& arrangement, const std::vector<Uncertainty>& uncertainties, const NormalPoints& points,
               const network::Network& network)
        : drawn_(drawn), arrangement_(arrangement), uncertainties_(uncertainties), points_(points), network_(network), layout_(drawn),
          conditions_(arrangement), changes_(drawn.pipes.size(), 0) {
        for (const Uncertainty& one : uncertainties)
            if (one.what == Unsure::roughness || one.what == Unsure::hazen_williams || one.what == Unsure::bore || one.what == Unsure::losses)
                for (const std::int32_t pipe : one.things) changes_[at(pipe)] = 1;
    }

    /// Ponds stand in the network itself.
    static bool lanes_can(const std::vector<Uncertainty>& uncertainties) {
        return std::none_of(uncertainties.begin(), uncertainties.end(), [](const Uncertainty& one) { return one.what == Unsure::pond_level; });
    }

    void begin_run(std::size_t first) { first_ = first; }

    /// The layout of a sample, until the next one is asked for.
    const Layout& layout_of(std::size_t row) {
        vary(drawn_, arrangement_, uncertainties_, points_.at(first_ + row), layout_, conditions_);
        return layout_;
    }
    const layout::Conditions& conditions() const { return conditions_; }

    void put(std::size_t row, int lane, LaneSolver& lanes, RowStart& to) override {
        layout_of(row);
        for (std::size_t p = 0; p < layout_.pipes.size(); ++p) {
            if (changes_[p] == 0) continue;
            const auto pipe = static_cast<std::int32_t>(p);
            const std::int32_t link = network_.pipe_link[p];
            network::resize_pipe(layout_, pipe, network_);
            const network::Link& there = network_.links[at(link)];
            if (there.law == network::Law::darcy)
                lanes.set_pipe(lane, link, network_.darcy[at(there.law_index)], there.bore_m);
            else
                lanes.set_pipe(lane, link, network_.hazen[at(there.law_index)], there.bore_m);
            const network::LinkSetting setting = network::setting_of_pipe(layout_, pipe, conditions_);
            to.settings.links[at(link)].k_forward = setting.k_forward;
            to.settings.links[at(link)].k_reverse = setting.k_reverse;
        }
        for (std::size_t f = 0; f < layout_.filters.size(); ++f) to.settings.links[at(network_.filter_link[f])].value = conditions_.filter_load[f];
        for (std::size_t p = 0; p < layout_.pumps.size(); ++p) {
            to.pump_share[p] = 1.0 - layout_.pumps[p].wear;
            lanes.set_pump_share(lane, static_cast<std::int32_t>(p), to.pump_share[p]);
        }
        const settle::Start start = settle::start_of(layout_);
        to.start_m3 = start.volume_m3;
        to.start_level_m = start.level_m;
    }

private:
    const Layout& drawn_;
    const layout::Conditions& arrangement_;
    const std::vector<Uncertainty>& uncertainties_;
    const NormalPoints& points_;
    network::Network network_;  ///< a copy, whose pipes are those of the present sample
    Layout layout_;
    layout::Conditions conditions_;
    std::vector<std::uint8_t> changes_;  ///< per pipe
    std::size_t first_ = 0;
};

/// Every figure of every sample: of one figure after another.
struct Figures {
    const std::vector<TargetColumn>& columns;
    std::size_t samples = 0, vessels = 0, pumps = 0, targets = 0, pipes = 0;
    std::vector<double> depth_m, inflow_m3_s, turnover_s, pump_flow_m3_s, pump_head_m, pump_power_w, pipe_flow_m3_s, got;
    std::vector<TargetState> target_state;
    std::vector<settle::State> state;
    std::vector<std::uint8_t> alarms;
    std::vector<TeeSpread> tees;

    Figures(const Layout& layout, std::size_t of_samples, const std::vector<TargetColumn>& of_targets)
        : columns(of_targets), samples(of_samples), vessels(layout.vessels.size()), pumps(layout.pumps.size()), targets(of_targets.size()),
          pipes(layout.pipes.size() * of_samples <= kMostPipeFigures ? layout.pipes.size() : 0) {
        for (auto* values : {&depth_m, &inflow_m3_s, &turnover_s}) values->resize(vessels * samples);
        for (auto* values : {&pump_flow_m3_s, &pump_head_m, &pump_power_w}) values->resize(pumps * samples);
        pipe_flow_m3_s.resize(pipes * samples);
        got.resize(targets * samples);
        target_state.resize(targets * samples);
        state.resize(samples);
        alarms.resize(samples);
        tees.resize(layout.tees.size());
    }
    void take(const Block& block);
};

void Figures::take(const Block& block) {
    const auto turn = [&](const auto& from, auto& to, std::size_t things) {
        for (std::size_t i = 0; i < things; ++i)
            for (std::size_t row = 0; row < block.rows; ++row) to[i * samples + block.first + row] = from[row * things + i];
    };
    turn(block.depth_m, depth_m, vessels);
    turn(block.inflow_m3_s, inflow_m3_s, vessels);
    for (std::size_t v = 0; v < vessels; ++v)
        for (std::size_t row = 0; row < block.rows; ++row) {
            const double inflow = block.inflow_m3_s[row * vessels + v], volume = block.volume_m3[row * vessels + v];
            turnover_s[v * samples + block.first + row] = inflow > 1e-12 ? volume / inflow : std::isnan(inflow) ? settle::kUnknown : HUGE_VAL;
        }
    turn(block.pump_flow_m3_s, pump_flow_m3_s, pumps);
    turn(block.pump_head_m, pump_head_m, pumps);
    turn(block.pump_power_w, pump_power_w, pumps);
    turn(block.pipe_flow_m3_s, pipe_flow_m3_s, pipes);
    turn(block.target_got, got, targets);
    for (std::size_t t = 0; t < targets; ++t)  // a turnover without flow never ends
        for (std::size_t row = 0; row < block.rows; ++row)
            if (columns[t].at_most && settle::solved(block.state[row]) && std::isnan(block.target_got[row * targets + t]))
                got[t * samples + block.first + row] = HUGE_VAL;
    turn(block.target_state, target_state, targets);
    turn(block.state, state, 1);
    turn(block.alarms, alarms, 1);
    for (const Hanging& one : block.hanging) {
        if (settle::solved(block.state[one.row])) ++(one.breaks ? tees[at(one.tee)].breaks : tees[at(one.tee)].vacuum);
    }
}

/// Solves runs of samples, one after another.
class RunSolver {
public:
    RunSolver(const Layout& drawn, const Question& question, const std::vector<Uncertainty>& uncertainties, const NormalPoints& points,
              const settle::Options& options, const std::vector<TargetColumn>& targets)
        : drawn_(drawn), question_(question), options_(options), targets_(targets), points_(points), network_(network::compile(drawn)),
          rows_(drawn, question.arrangement, uncertainties, points, network_), run_(samples_of_a_run(drawn)) {
        if (LaneSettle::applies_to(network_, drawn) && SampleRows::lanes_can(uncertainties))
            lanes_ =
                std::make_unique<LaneSettle>(network_, drawn_, question_, targets_, options, LaneSolver::Instructions::best, LaneSolver::Pipes::own);
    }

    /// The run of samples from `first`. `heed`, between those that are solved singly: false when nobody waits for it any more.
    const Block& solve(std::size_t first, std::size_t pipes, const std::function<bool()>& heed) {
        const std::size_t rows = std::min(run_, points_.points() - first);
        block_.pipes = pipes;
        resize(drawn_, targets_.size(), rows, block_);
        block_.first = first;
        rows_.begin_run(first);
        if (lanes_) {
            lanes_->solve(rows_, block_, alone_);
        } else {
            alone_.resize(rows);
            std::iota(alone_.begin(), alone_.end(), std::size_t{0});
        }
        for (const std::size_t row : alone_) {
            if (!heed()) break;
            settle::Farm farm(rows_.layout_of(row), options_);
            write_row(drawn_, farm.solve(rows_.conditions(), question_.at_start_levels), row, block_);
        }
        return block_;
    }

private:
    const Layout& drawn_;
    const Question& question_;
    const settle::Options& options_;
    const std::vector<TargetColumn>& targets_;
    const NormalPoints& points_;
    network::Network network_;
    SampleRows rows_;
    std::size_t run_;
    std::unique_ptr<LaneSettle> lanes_;
    std::vector<std::size_t> alone_;
    Block block_;
};

/// Percentiles and causes of figures, of the samples that have a solution.
class Teller {
public:
    Teller(const NormalPoints& points, const Figures& figures) : points_(points), samples_(figures.samples) {
        const double products = static_cast<double>(3 * figures.vessels + 3 * figures.pumps + 2 * figures.targets) *
                                static_cast<double>(points.dimensions()) * static_cast<double>(figures.samples);
        tells_causes_ = products * kLeastRounds <= kMostProducts;
        if (tells_causes_) rounds_ = static_cast<int>(std::clamp(kMostProducts / std::max(products, 1.0), double{kLeastRounds}, double{kMostRounds}));
        for (const settle::State state : figures.state) solved_.push_back(settle::solved(state) ? 1 : 0);
        std::vector<std::size_t> samples;
        for (std::size_t i = 0; i < samples_; ++i)
            if (solved_[i] != 0) samples.push_back(i);
        if (tells_causes_) all_ = squares_of(samples);
    }

    Spread percentiles(const double* figure) const {
        std::vector<double> values;
        for (std::size_t i = 0; i < samples_; ++i)
            if (solved_[i] != 0 && !std::isnan(figure[i])) values.push_back(figure[i]);
        Spread spread;
        if (values.empty()) return spread;
        std::sort(values.begin(), values.end());
        spread.low = percentile(values, 0.05);
        spread.middle = percentile(values, 0.50);
        spread.high = percentile(values, 0.95);
        return spread;
    }

    /// The share of every uncertainty in the variance of the figure; signed like the correlation. The strongest is taken out of the figure before the
    /// next is looked for: at a finite number of points two variables may look alike (that of 200 that looks most like another agrees with it by 0.4
    /// at 1,024 points), and what moves the figure would lend its share to those that do not.
    std::vector<double> shares(const double* figure) const {
        const std::size_t dimensions = points_.dimensions();
        std::vector<double> found(dimensions, 0.0);
        std::vector<std::size_t> having;
        double mean = 0.0, variance = 0.0;
        for (std::size_t i = 0; i < samples_; ++i)
            if (solved_[i] != 0 && std::isfinite(figure[i])) having.push_back(i), mean += figure[i];
        const auto count = static_cast<double>(having.size());
        if (having.size() < 3 || !tells_causes_) return found;
        mean /= count;
        std::vector<double> left;  // of the figure, unexplained
        for (const std::size_t i : having) {
            left.push_back(figure[i] - mean);
            variance += left.back() * left.back();
        }
        if (variance <= count * mean * mean * 1e-20) return found;
        const Squares some = having.size() == all_.count ? Squares{} : squares_of(having);
        const std::vector<double>& square = having.size() == all_.count ? all_.square : some.square;
        const double smallest = std::max(kSmallestShare, kChance / count);
        std::vector<double> product(dimensions);
        for (int round = 0; round < rounds_; ++round) {
            std::fill(product.begin(), product.end(), 0.0);
            for (std::size_t k = 0; k < having.size(); ++k) {
                const double* const z = points_.at(having[k]).data();
                for (std::size_t d = 0; d < dimensions; ++d) product[d] += z[d] * left[k];
            }
            std::size_t strongest = dimensions;
            double share = smallest;
            for (std::size_t d = 0; d < dimensions; ++d) {
                const double is = square[d] > 0.0 && found[d] == 0.0 ? product[d] * product[d] / (square[d] * variance) : 0.0;
                if (is >= share) strongest = d, share = is;
            }
            if (strongest == dimensions) break;
            found[strongest] = std::copysign(std::min(share, 1.0), product[strongest]);
            const double slope = product[strongest] / square[strongest];
            for (std::size_t k = 0; k < having.size(); ++k) left[k] -= slope * points_.at(having[k])[strongest];
        }
        return found;
    }

    Spread with_causes(const double* figure) const {
        Spread spread = percentiles(figure);
        spread.causes = greatest(shares(figure), kMostCauses);
        return spread;
    }

    static std::vector<Cause> greatest(const std::vector<double>& shares, std::size_t most) {
        std::vector<Cause> causes;
        for (std::size_t d = 0; d < shares.size(); ++d)
            if (shares[d] != 0.0) causes.push_back({d, std::abs(shares[d]), shares[d] > 0.0});
        std::stable_sort(causes.begin(), causes.end(), [](const Cause& a, const Cause& b) { return a.share > b.share; });
        if (causes.size() > most) causes.resize(most);
        return causes;
    }

private:
    /// Sums of squares of every variable about its mean, over some samples.
    struct Squares {
        std::size_t count = 0;
        std::vector<double> square;
    };
    Squares squares_of(const std::vector<std::size_t>& samples) const {
        const auto count = static_cast<double>(samples.size());
        Squares squares{samples.size(), std::vector<double>(points_.dimensions(), 0.0)};
        std::vector<double> sum(points_.dimensions(), 0.0);
        for (const std::size_t i : samples)
            for (std::size_t d = 0; d < sum.size(); ++d) {
                const double z = points_.at(i)[d];
                sum[d] += z;
                squares.square[d] += z * z;
            }
        for (std::size_t d = 0; d < sum.size() && count > 0.0; ++d) squares.square[d] -= sum[d] * sum[d] / count;
        return squares;
    }

    const NormalPoints& points_;
    std::size_t samples_;
    bool tells_causes_ = false;
    int rounds_ = 0;  ///< causes looked for, one after another
    std::vector<std::uint8_t> solved_;
    Squares all_;  ///< over all that have a solution
};

bool varies(const Spread& spread) { return spread.high - spread.low > kHardlyVaries * std::abs(spread.middle); }

/// Mean shares over what the layout wants, or over what the vessels get.
std::vector<Cause> worth_measuring(const Figures& figures, const UncertainAnswer& answer, const Teller& teller, std::size_t dimensions) {
    std::vector<double> mean(dimensions, 0.0);
    double count = 0.0;
    const auto add = [&](const double* figure, const Spread& spread) {
        if (!varies(spread)) return;
        const std::vector<double> shares = teller.shares(figure);
        for (std::size_t d = 0; d < dimensions; ++d) mean[d] += std::abs(shares[d]);
        count += 1.0;
    };
    for (std::size_t t = 0; t < figures.targets; ++t)
        if (answer.targets[t].asked > 0) add(&figures.got[t * figures.samples], answer.targets[t].got);
    if (count == 0.0)
        for (std::size_t v = 0; v < figures.vessels; ++v) add(&figures.inflow_m3_s[v * figures.samples], answer.vessels[v].inflow_m3_s);
    for (double& share : mean) share = count > 0.0 && share / count >= kSmallestShare ? share / count : 0.0;
    constexpr std::size_t kWorth = 6;
    return Teller::greatest(mean, kWorth);
}

void count_samples(const Figures& figures, UncertainAnswer& answer) {
    for (std::size_t i = 0; i < figures.samples; ++i) {
        ++answer.states[static_cast<std::size_t>(figures.state[i])];
        answer.alone += (figures.alarms[i] & kSolvedAlone) != 0 ? 1 : 0;
        if (!settle::solved(figures.state[i])) continue;
        ++answer.solved;
        answer.spills += (figures.alarms[i] & kSpills) != 0 ? 1 : 0;
        answer.bare += (figures.alarms[i] & kIntakeBare) != 0 ? 1 : 0;
        answer.below_least += (figures.alarms[i] & kBelowLeast) != 0 ? 1 : 0;
        answer.breaks += (figures.alarms[i] & kBelowVapour) != 0 ? 1 : 0;
        answer.vacuum += (figures.alarms[i] & kUnderVacuum) != 0 ? 1 : 0;
    }
    answer.tees = figures.tees;
}

void tell(const Figures& figures, const NormalPoints& points, UncertainAnswer& answer) {
    const Teller teller(points, figures);
    const std::size_t n = figures.samples;
    count_samples(figures, answer);
    for (std::size_t v = 0; v < figures.vessels; ++v)
        answer.vessels.push_back({teller.with_causes(&figures.depth_m[v * n]), teller.with_causes(&figures.inflow_m3_s[v * n]),
                                  teller.with_causes(&figures.turnover_s[v * n])});
    for (std::size_t p = 0; p < figures.pumps; ++p)
        answer.pumps.push_back({teller.with_causes(&figures.pump_flow_m3_s[p * n]), teller.with_causes(&figures.pump_head_m[p * n]),
                                teller.with_causes(&figures.pump_power_w[p * n])});
    for (std::size_t p = 0; p < figures.pipes; ++p) answer.pipe_flow_m3_s.push_back(teller.percentiles(&figures.pipe_flow_m3_s[p * n]));
    for (std::size_t t = 0; t < figures.targets; ++t) {
        TargetSpread target;
        for (std::size_t i = 0; i < n; ++i) {
            if (!settle::solved(figures.state[i])) continue;
            const TargetState state = figures.target_state[t * n + i];
            target.asked += state == TargetState::met || state == TargetState::missed ? 1 : 0;
            target.met += state == TargetState::met ? 1 : 0;
        }
        target.got = teller.with_causes(&figures.got[t * n]);
        answer.targets.push_back(std::move(target));
    }
    answer.measure = worth_measuring(figures, answer, teller, points.dimensions());
}

}  // namespace

double percentile(const std::vector<double>& sorted, double share) {
    if (sorted.empty()) return settle::kUnknown;
    const double place = share * static_cast<double>(sorted.size() - 1);
    const auto below = static_cast<std::size_t>(place);
    const double rest = place - static_cast<double>(below), low = sorted[below];
    if (rest <= 0.0 || below + 1 >= sorted.size()) return low;
    const double high = sorted[below + 1];
    return std::isfinite(high) ? low + rest * (high - low) : high;
}

UncertainAnswer solve_uncertain(const Layout& layout, const layout::Conditions& arrangement, bool at_start_levels, const UncertainOptions& options,
                                const std::function<void(double)>& progress, const std::stop_token& stop) {
    UncertainAnswer answer;
    answer.samples = std::max<std::size_t>(options.samples, 1);
    answer.uncertainties = uncertainties_of(layout);
    const NormalPoints points(answer.samples, answer.uncertainties.size());
    const std::vector<TargetColumn> targets = targets_of(layout);
    Question question;
    question.arrangement = arrangement;
    question.at_start_levels = at_start_levels;
    settle::Options settle = options.settle;
    settle.bands = settle.ledgers = false;
    Figures figures(layout, answer.samples, targets);
    const std::size_t run_of = samples_of_a_run(layout), runs = (answer.samples + run_of - 1) / run_of;
    std::atomic<std::size_t> next = 0, done = 0;
    std::mutex mutex;
    settle::Crew crew;
    const auto work = [&](bool tells) {
        const auto heed = [&] {
            if (tells && progress) progress(static_cast<double>(done) / static_cast<double>(runs));
            return !stop.stop_requested() && !crew.over();
        };
        RunSolver solver(layout, question, answer.uncertainties, points, settle, targets);
        for (std::size_t run = next++; run < runs && heed(); run = next++) {
            const Block& block = solver.solve(run * run_of, figures.pipes, heed);
            if (stop.stop_requested() || crew.over()) break;
            const std::lock_guard lock(mutex);
            figures.take(block);
            ++done;
        }
    };
    const auto workers = static_cast<unsigned>(std::clamp<std::size_t>(options.threads, 1, runs));
    for (unsigned i = 1; i < workers && crew.start([work] { work(false); }); ++i) {
    }
    work(true);
    crew.join();
    answer.whole = done == runs;
    if (answer.whole) tell(figures, points, answer);
    return answer;
}

}  // namespace ebb::survey
