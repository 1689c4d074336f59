#pragma once
// One plan being followed: the loop of steps and events.
//
// Two kinds of event. What switches (the clock, level-switches, siphons, hoses) changes the equation: the integration stops exactly there
// and begins anew with a fresh network solve. What only passes a mark (lips, rims, intakes) is noted and changes nothing, since the laws
// themselves are continuous there.

#include "solver/time/chatter.h"
#include "solver/time/clockwork.h"
#include "solver/time/marks.h"
#include "solver/time/recorder.h"
#include "solver/time/repeats.h"
#include "solver/time/stepper.h"

namespace ebb::time {

class Run {
public:
    Run(const layout::Layout& layout, const network::Network& network, network::Solver& solver, const Options& options, const Plan& plan);

    Course go();

private:
    bool begin();
    bool settle_switches();
    bool stand();
    std::string why_not_solved(const std::string& what) const;
    void announce(const Moment& before, const Moment& now);
    void announce_things(const Moment& before, const Moment& now);
    bool take_step();
    bool check_missed_marks();
    bool pass(std::size_t mark);
    bool somebody_takes(std::size_t vessel) const;
    void tell_passing(const Mark& mark);
    bool flip_switch(std::size_t index, bool holds);
    bool flip_siphon(std::size_t index, bool primed);
    bool by_itself(const std::string& what);
    bool section(std::int64_t kind);
    bool is_still() const;
    bool restart();
    void finish();
    void fail(Ending ending, std::string why);
    void emit(Happening what, const layout::Ref& about, std::string id, std::string because = {}, double level_m = kUnknown, bool switches = true);
    std::vector<std::uint8_t> memory() const;
    void say_why_no_repeat();
    bool at_end() const { return time_s_ >= plan_->lasts_s * (1.0 - 1e-15); }

    const layout::Layout* layout_;
    const network::Network* network_;
    const Options* options_;
    const Plan* plan_;
    Course course_;
    Clockwork clock_;
    WaterBalance balance_;
    Marks marks_;
    Recorder recorder_;
    Repeats repeats_;
    ChatterGuard guard_;
    std::unique_ptr<Stepper> stepper_;

    double time_s_ = 0.0, next_clock_s_ = 0.0, next_section_s_ = 0.0;
    std::vector<double> state_, mark_values_;
    std::vector<std::uint8_t> holds_, primed_;
    std::vector<std::uint8_t> runs_;  ///< per pump: it ran before the last restart
    Moment moment_;
    double total_at_start_m3_ = 0.0;
    double stuck_since_s_ = 0.0;
    std::int64_t stuck_steps_ = 0;
    int failures_ = 0;
    bool ended_ = false;
};

}  // namespace ebb::time
