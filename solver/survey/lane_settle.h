#pragma once
// A block of combinations settled on eight lanes: settle's direct step, its repeats and its questions of certainty (settle/levels.h,
// settle/certainty.h), as a machine of states for each lane.
//
//     direct   long implicit step, from the settled state of the combination before in this lane with the water of this one
//     repeat   the step again from its own end, until nothing moves; now the row can be written
//     bound    states with more water, until one of them proves that no level can reach its rim on the way
//
// Where a settled state is the only one with its water, it does not matter from which share of that water the direct step starts: the levels of the
// neighbour are a better start than those of the layout. That it is the only one is asked afterwards; where the answer is no, where water spills,
// where a siphon would start, or where Newton does not arrive, the row is left to the single solve. So every row is what the single
// solve says, to the accuracy of the solves.
//
// A lane takes an eighth of the block in an order in which neighbours differ by one switch. Everything a row depends on begins with its block.

#include <cstdint>
#include <utility>
#include <vector>

#include "solver/settle/certainty.h"
#include "solver/settle/fed.h"
#include "solver/settle/model.h"
#include "solver/survey/lane_solver.h"
#include "solver/survey/survey.h"
#include "solver/survey/switch_table.h"

namespace ebb::survey {

/// What a row brings with it besides its combination.
struct RowStart {
    network::Settings settings;
    std::vector<double> start_m3, start_level_m;  ///< per vessel
    std::vector<double> pump_share;               ///< per pump: what it keeps of its maker's head
};

/// Rows that differ by other things than switches: each is put into the lane that is to solve it.
class RowSource {
public:
    RowSource() = default;
    RowSource(const RowSource&) = delete;
    RowSource& operator=(const RowSource&) = delete;
    virtual ~RowSource() = default;
    /// `to` holds what the lane solved last; own pipes go into `lanes` themselves, which are loaded from `to` afterwards.
    virtual void put(std::size_t row, int lane, LaneSolver& lanes, RowStart& to) = 0;
};

class LaneSettle {
public:
    /// Whether the lanes can do anything for this layout.
    static bool applies_to(const network::Network& network, const layout::Layout& layout);

    LaneSettle(const network::Network& network, const layout::Layout& layout, const Question& question, const std::vector<TargetColumn>& targets,
               const settle::Options& options, LaneSolver::Instructions instructions = LaneSolver::Instructions::best,
               LaneSolver::Pipes pipes = LaneSolver::Pipes::shared);

    /// Solves the rows of `block` (whose room is made, and whose `first` is set) but those it names in `alone`, which the single solve must do.
    void solve(const Combinations& combinations, Block& block, std::vector<std::size_t>& alone);

    /// The same for rows of another source; the question has no switches then.
    void solve(RowSource& source, Block& block, std::vector<std::size_t>& alone);

    /// Newton steps of all lanes together, since construction.
    std::uint64_t steps() const { return steps_; }

private:
    enum class Stage : std::uint8_t { idle, direct, repeat, bound };
    struct Lane {
        explicit Lane(const network::Network& network) : certainty(network) {}
        settle::Certainty certainty;
        RowStart own;
        layout::Conditions conditions;
        std::uint64_t off = 0;
        Stage stage = Stage::idle;
        std::size_t row = 0, visited = 0;  ///< row of the block; how many rows of this lane have been begun
        int rounds = 0, rests = 0;
        bool warm = false;             ///< the lane's point is a settled state
        bool raised = false;           ///< the row before took a state with more water to bound its way
        std::vector<double> water_m3;  ///< whose sums over closed loops the present solve keeps
        std::vector<double> from_m3;   ///< volumes the present step starts from
        std::vector<double> rest_m3;   ///< volumes of the last settled state
        std::vector<double> awake_m3;  ///< per vessel: what it held when it last was not asleep
        std::vector<double> end_level_m, bound_level_m;
        std::vector<std::uint8_t> asleep;  ///< per vessel, in the combination under way
    };

    void make_point();
    void solve_block(Block& block, std::vector<std::size_t>& alone);
    bool next_row(int index);
    void switch_to(int index, std::uint64_t off);
    void begin(int index);
    void share_out_water(Lane& lane);
    void again(int index);
    bool arrived(int index);
    void follow(int index);
    std::pair<double, double> follow_on(Lane& lane, double most_m3);
    bool at_rest(int index, double most_m3);
    bool settled(int index);
    bool bounded(int index);
    void leave_alone(int index);
    void write(int index);
    void write_pumps(int index);
    void write_tees(int index);
    void write_targets(int index);
    bool is_fed(const Lane& lane, std::size_t vessel);
    double reported_flow(const Lane& lane, int index, std::int32_t link) const;

    const network::Network* network_;
    const layout::Layout* layout_;
    const Question* question_;
    const std::vector<TargetColumn>* targets_;
    SwitchTable table_;
    network::Settings all_on_;
    LaneSolver lanes_;
    network::Tolerances exact_, rough_;
    settle::FedVessels fed_;
    std::vector<std::uint8_t> feedable_;
    std::vector<std::vector<std::uint8_t>> fed_without_;  ///< per switch: the vessels fed with it alone off
    struct Mouth {
        std::int32_t link, vessel;
        double inwards;  ///< 1 where the link's flow enters the vessel, -1 where its reverse does
    };
    std::vector<Mouth> mouths_;
    std::vector<double> drawn_m3_, rim_m3_;  ///< per vessel: at the layout's start, and full
    std::vector<std::int32_t> taker_order_;  ///< vessels, those that pumps draw from first, then the widest
    std::vector<Lane> lane_;
    std::vector<std::int32_t> bars_;  ///< links that may let water in one way only
    double most_hanging_m_;
    network::Point point_;  ///< of one lane, for what is rarely asked
    std::vector<network::Linear> linears_;
    std::vector<double> in_m3_s_, now_m3_, loop_sum_;  ///< per vessel; per node that stands for a loop
    const Combinations* combinations_ = nullptr;       ///< or
    RowSource* source_ = nullptr;
    Block* block_ = nullptr;
    std::vector<std::size_t>* alone_ = nullptr;
    std::size_t share_ = 0;  ///< rows of a lane
    std::uint64_t steps_ = 0;
};

}  // namespace ebb::survey
