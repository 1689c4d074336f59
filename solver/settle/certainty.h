#pragma once
// Is it certain where the water ends, without following it there? Two questions about a settled state E found by the direct step (levels.h):
// can any level reach its rim on the way from the start to E, and is E the only place where this much water can end?
//
// With f_v the net inflow of vessel v as a function of all levels, f_v does not fall when another vessel's level rises, and the sum of f over a
// closed loop is 0 (over one that a pond or a supply feeds, it does not rise with any level). The water balances V' = f(L) of such a system keep the
// order of two courses of the same farm, and they do not draw apart (M. G. Crandall and L. Tartar, Proc. Amer. Math. Soc. 78 (1980) 385): for any two
// courses V and W, the sum over v of (V_v - W_v)+ does not grow with time. The implicit steps of the walk have the same properties.
//
// Rims.  Take for W any state U at rest in this arrangement, of whatever inventory. The surplus of the start over U,
//        X = sum of (V_start - V_U)+  over the vessels of one loop,
// bounds every course: V_v(t) <= V_v(U) + X; nor can a vessel hold more than all the water of a closed loop. Where that fits below every rim nothing
// is spilled on the way. U = E is asked first; then states with more water than there is, which take the surplus of the sump away: E with (V_start -
// V_U)+ poured in, settled again.
//
// One end.  Let the water end at E' instead, with the same inventory. Raising E to max(E, E') changes no flow out of the vessels raised, P, and
// lowering it to min(E, E') none out of those lowered, N (both are states at rest, by the two properties). So there would be two sets of
// vessels without a common one, the first of which hands nothing on when its levels rise, the second nothing when they fall. There are none where
// every vessel of the loop passes on, over links with a slope, to one and the same vessel: P and N would both contain that one; nor where every
// one passes on to a pond or supply. Two kinds of vessel are known better. One that nothing can enter and nothing leaves keeps its level whatever
// the others do ("sleeps") and is left out: a flood from everything that can give water at the start, over every way that is open, does not
// come to it. One that has drained to its lowest way out, from above, cannot stand lower: it is not in N, and
// neither is any that passes a fall on to it; upwards it passes on by that way out.
//
// Float valves that a supply feeds open a loop. Where one stays shut all the way it does not: its vessel holds at least the water of the loop less
// the most that the other vessels can hold, sum of V_v(U) + X, and where that stands above the depth that shuts the valve, nothing comes.
//
// A vessel that nothing can enter and nothing leaves keeps its level whatever the others do ("sleeps"), and is left out.
//
// Limits: not asked of layouts with tees on headers, whose losses are not monotone, nor of a state that spills. "No" means: not certain this way.
// Cost: a few passes over the links, and one to three solves where the first bound does not fit. No allocation after construction.

#include <cstdint>
#include <span>
#include <utility>
#include <vector>

#include "solver/network/newton.h"

namespace ebb::settle {

class Certainty {
public:
    explicit Certainty(const network::Network& network);

    /// Layouts of which it can be asked at all.
    static bool applies_to(const network::Network& network) { return network.header_tees.empty(); }

    /// From now on take() is only given settings that agree with these but for the links in `changing`: the rest is sorted once.
    void keep_fixed(const network::Settings& settings, std::span<const std::int32_t> changing);

    /// Sorts the vessels into loops under these settings; to be called before the questions. `floats_give`: what float valves join is joined and
    /// open to their supplies; else they count as shut, which floats_stay_shut() must then confirm.
    void take(const network::Settings& settings, bool floats_give);

    /// Says how link `link` passes changes on at the settled state: its slopes there by unknown heads (laws.h; 0 for what is known), the heads at its
    /// ends and its flow. To be called for every link.
    struct Slopes {
        double a = 0.0, b = 0.0;
    };
    void pass(std::size_t link, const Slopes& slopes, double from_m, double to_m, double flow_m3_s);

    /// Is E the only end? Levels per vessel, at the start and at E; greatest_level_m() must hold (it says what can flow over which edge).
    bool one_end(std::span<const double> start_level_m, std::span<const double> end_level_m);

    /// Does `start_m3` fit below every rim, measured from a state at rest? Fills greatest_level_m() with what the levels can reach.
    bool fits(std::span<const double> start_m3, std::span<const double> rest_level_m);

    /// After fits(): no vessel can fall to where its float valve opens, because the other vessels of its loop cannot hold so much of the water.
    bool floats_stay_shut(const network::Settings& settings, std::span<const double> start_m3, std::span<const double> rest_level_m) const;

    std::span<const double> greatest_level_m() const { return greatest_level_m_; }
    /// Forgets it: nothing bounds the levels.
    void forget_bound();

    /// The surplus of the start over the volumes of a state at rest, added to those: where the next state at rest is settled from.
    void pour(std::span<const double> start_m3, std::span<const double> rest_level_m, std::span<double> volume_m3) const;

    /// After take(): the loop of a vessel (a node that stands for it), and whether a pond or supply touches that loop.
    std::int32_t loop_of(std::int32_t vessel) const { return loop_[static_cast<std::size_t>(vessel)]; }
    bool is_open(std::int32_t loop) const { return open_[static_cast<std::size_t>(loop)] != 0; }
    /// Finds the vessels that water can come to or leave from the start levels on, as long as the levels stay under greatest_level_m(). With a slack:
    /// under the greatest since forget_bound() and `slack_m`; one_end() takes that over where the levels do.
    void wake(std::span<const double> start_level_m, double slack_m);
    bool sleeps(std::int32_t vessel) const { return awake_[static_cast<std::size_t>(vessel)] == 0; }

private:
    /// Kinds of change, as bits: a search follows both at once.
    enum Change : std::uint8_t { kRise = 1, kFall = 2, kBoth = 3 };
    struct Way {
        std::int32_t link = -1, other = -1;
        bool forward = false;  ///< the change comes from the link's `from`
    };
    struct Passes {
        std::uint8_t forward = 0, backward = 0;  ///< changes
    };
    std::int32_t find(std::int32_t node);
    double leaves_at(std::int32_t vessel) const;
    void spread(std::int32_t node, double level_m);
    void look_at(const network::Settings& settings, std::int32_t link);
    void join(std::int32_t link, bool floats_give);
    void reach_back_from(std::int32_t node, std::uint8_t changes);
    bool is_left(std::int32_t vessel, std::int32_t loop, std::uint8_t changes) const;
    bool any_left(std::int32_t first, std::int32_t loop, std::uint8_t changes) const;
    bool all_pass_on_to(std::int32_t node, std::int32_t first, std::int32_t loop);
    bool one_end_of_loop(std::int32_t first, std::int32_t loop);

    const network::Network* network_;
    std::vector<std::int64_t> way_start_;  ///< per node: ways by which a change can come to it
    std::vector<Way> ways_;
    std::vector<std::vector<std::int32_t>> links_of_;  ///< per vessel
    std::vector<std::int32_t> root_, loop_;            ///< union-find; per vessel: the root of its loop
    std::vector<std::uint8_t> touched_, open_;         ///< per node: joined to a pond or supply; per node that is a root: its loop is
    std::vector<std::int32_t> fixed_root_;             ///< keep_fixed(): what the links that do not change join
    std::vector<std::uint8_t> fixed_touched_;
    std::vector<std::int32_t> changing_;  ///< links that take() looks at; all, before keep_fixed()
    /// What the settings make of a link, as take() found it.
    struct Open {
        double edge_m = 0.0;  ///< where it starts: the least level at which something leaves by it
        bool shut = false, one_way = false, into_air = false;
    };
    std::vector<Open> is_;                                      ///< per link
    std::vector<Passes> passes_;                                ///< per link
    std::vector<std::uint8_t> reached_;                         ///< per node: changes that come from it to where the search began
    std::vector<std::pair<std::int32_t, std::uint8_t>> trail_;  ///< what was marked, to be taken back
    std::vector<std::uint8_t> awake_, asked_;                   ///< per vessel
    std::vector<std::uint8_t> wet_;                             ///< per node: the flood has come to it
    std::vector<std::int32_t> waiting_;
    std::vector<double> surplus_m3_, water_m3_;  ///< per node that is a root
    std::vector<double> greatest_level_m_, flood_level_m_;
    std::vector<double> seen_level_m_;  ///< the greatest bound since forget_bound()
    bool woken_ = false;                ///< since take()
};

}  // namespace ebb::settle
