#pragma once
// Straight lines under and over the law of one link on an interval of its flow, which no flow of the interval breaks.

#include <array>

#include "solver/network/laws.h"

namespace ebb::choose {

/// slope * flow + offset, m.
struct Line {
    double slope = 0.0, offset = 0.0;
};

/// The loss of one link as a function of its flow, m: it never falls with the flow. `mirrored`: -loss(-flow), which never falls either.
class LinkLaw {
public:
    LinkLaw(const network::Network& network, const network::LinkSetting& setting, const network::Link& link);
    physics::ValueSlope at(double flow_m3_s) const;
    double loss_m(double flow_m3_s) const { return at(flow_m3_s).value; }
    LinkLaw mirrored() const;
    /// Convex for flows above 0 and concave below, by its formula.
    bool bends_once() const { return bends_once_; }

    /// A flow of [low, high] that is not below any whose loss is at most `loss_m` (and within a millionth of the greatest such), `high` when all are;
    /// -infinity when none is.
    double greatest_flow_m3_s(double loss_m, double low_m3_s, double high_m3_s) const;
    /// The same from below: not above any flow whose loss is at least `loss_m`; +infinity when none is.
    double least_flow_m3_s(double loss_m, double low_m3_s, double high_m3_s) const;

private:
    const network::Network* network_;
    const network::LinkSetting* setting_;
    const network::Link* link_;
    double sign_ = 1.0;
    bool bends_once_ = false;
    mutable double friction_ = 0.0;  ///< where Colebrook's iteration starts
};

inline constexpr std::size_t kLines = 3;

/// Lines below the law on [low, high], low < high.
std::array<Line, kLines> lines_under(const LinkLaw& law, double low_m3_s, double high_m3_s);
/// Lines above it.
std::array<Line, kLines> lines_over(const LinkLaw& law, double low_m3_s, double high_m3_s);

/// Lines below the electrical power of a pump on [low, high], W and W per m3/s; no lines (all 0) where the power is not known.
std::array<Line, kLines> lines_under_power(const network::PumpLaw& law, double speed, double low_m3_s, double high_m3_s);

}  // namespace ebb::choose
