#pragma once

// Head at a pump's inlet against boiling.

#include "solver/physics/water.h"

namespace ebb::physics {

/// Net positive suction head available, m: (atmosphere - vapour)/(rho g) + head at the inlet above the pump.
/// `head_above_pump_m` is the piezometric head at the inlet (level less suction losses) minus the pump's elevation.
double npsh_available_m(const Water& water, double head_above_pump_m);

}  // namespace ebb::physics
