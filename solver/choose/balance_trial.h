#pragma once
// Trying a setting of the valves: what every outlet gets and what every valve drops, and how these change with the setting.

#include <cstdint>
#include <memory>
#include <vector>

#include "solver/layout/layout.h"
#include "solver/settle/farm.h"
#include "solver/settle/model.h"

namespace ebb::choose {

/// What is moved: velocity heads each valve adds over fully open, and the speed of each pump let free.
struct ValveSetting {
    std::vector<double> extra;
    std::vector<double> speed;
};

/// An outlet and its targets in one arrangement. NaN: none of that kind.
struct OutletWanted {
    std::int32_t vessel = -1;
    double inflow_m3_s = layout::kNotSaid;
    double turnover_s = layout::kNotSaid;
};

/// One arrangement of the problem.
struct BalanceCase {
    std::int32_t arrangement = -1;
    bool at_start_levels = false;
    layout::Conditions conditions;      ///< as the layout has it
    std::vector<std::uint8_t> shut;     ///< per moved valve: this arrangement keeps it shut
    std::vector<OutletWanted> outlets;  ///< aimed at
    std::vector<OutletWanted> others;   ///< have a target too, but nothing that moves is on their way
};

/// What is moved and in what; the same for every trial.
struct BalanceFrame {
    const layout::Layout* layout = nullptr;
    std::vector<std::int32_t> valves;
    std::vector<std::int32_t> pumps;
    std::vector<double> least_speed, greatest_speed;  ///< per pump
    std::vector<BalanceCase> cases;

    std::size_t unknowns() const { return valves.size() + pumps.size(); }
    std::size_t outlet_count() const;
    /// Head per velocity head and flow squared, of the pipe valve `i` stands in.
    double head_coefficient(std::size_t i) const;
};

/// A setting seen in one arrangement.
struct SeenCase {
    bool solved = false;
    std::vector<double> share;        ///< per outlet of the case: got over wanted
    std::vector<double> wanted_m3_s;  ///< per outlet of the case
    std::vector<double> flow_m3_s;    ///< per valve, signed; 0 where shut
};
struct SeenSetting {
    bool solved = false;  ///< in every case
    std::vector<SeenCase> cases;
    double throttled_m = 0.0;  ///< sum over cases and valves of what throttling drops
};

/// SettingSlopes of everything seen, per unknown: [unknown].cases[...]
struct SettingSlopes {
    std::vector<SeenSetting> by;  ///< derivatives in share and flow_m3_s; throttled_m is not used
};

class BalanceTrial {
public:
    explicit BalanceTrial(const BalanceFrame& frame, bool walk);

    SeenSetting look(const ValveSetting& setting);

    /// SettingSlopes at `setting`, which was seen as `seen`, by small steps: valves by what drops kStep_m more at the flow they have, pumps by speed.
    SettingSlopes slopes(const ValveSetting& setting, const SeenSetting& seen);

    /// The whole answer of one case.
    settle::Answer answer(const ValveSetting& setting, std::size_t which);

    layout::Conditions conditions_of(const ValveSetting& setting, std::size_t which) const;

    int solves() const { return solves_; }

    /// A valve that carries less than this says nothing about its drop.
    static constexpr double kDead_m3_s = 1e-9;

private:
    SeenCase look_at(const ValveSetting& setting, std::size_t which);

    const BalanceFrame& frame_;
    bool walk_;
    settle::Start start_;
    std::unique_ptr<settle::Model> model_;
    int solves_ = 0;
};

/// Aimed at this share of a target: rounding then never leaves it just missed.
inline constexpr double kAim = 1.0 + 5e-8;

/// The drop of throttling of valve `i` in a case, m.
double throttle_drop_m(const BalanceFrame& frame, const ValveSetting& setting, const SeenCase& seen, std::size_t i);

/// Share of its targets that an outlet gets: of inflow and turnover the one less met; 0 without flow.
double share_of(const OutletWanted& wanted, const settle::VesselAnswer& vessel);

/// The inflow that just meets the targets at the volume the vessel holds, m3/s.
double wanted_flow_m3_s(const OutletWanted& wanted, const settle::VesselAnswer& vessel);

}  // namespace ebb::choose
