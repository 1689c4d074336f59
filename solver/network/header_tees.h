#pragma once
// Losses of dividing and combining tees on a header: they depend on how the flow divides, so they tie three pipes together.
//
// With the flows of the last step the leg that carries the whole flow is known (the greatest inflow where the tee divides, the greatest outflow where
// it combines; where the third leg is nearly still, a smooth blend of both), and each of the other legs that carries flow loses K(share) V^2/2g of
// the whole flow's velocity head V on its way through the tee (physics/tees.h; K may be negative: one stream speeds the other up). The loss is added
// to that leg's pipe. Newton's matrix takes a part of its own slope only, on the diagonal; what is left of the coupling is met by repeating the step,
// so these networks converge linearly, not quadratically.
//
// The relations are published for flows that matter; below 1/50 of the whole flow a leg's loss fades smoothly to nothing, so that a
// leg whose flow turns round sees no jump.

#include "solver/network/laws.h"

namespace ebb::network {

/// Fills `point.tee_loss_m` and `point.tee_slope` (per link; empty when the network has no such tee) from the flows of `point`.
void update_tee_losses(const Network& network, Point& point);

}  // namespace ebb::network
