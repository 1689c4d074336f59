// Net positive suction head available at a pump's inlet: (p_atmosphere - p_vapour)/(rho g) + (inlet head - pump elevation).
//
// Heads here are relative to the open air, so the air's own pressure is added and the pressure at which water boils taken off. The pump
// needs more than its NPSH required; common practice asks for 0.5 m over it. Source: any pump text, e.g. Crane TP-410 chapter 7.

#include "solver/physics/suction.h"

#include "solver/physics/constants.h"

namespace ebb::physics {

double npsh_available_m(const Water& water, double head_above_pump_m) {
    return (water.atmospheric_pressure_pa - water.vapour_pressure_pa) / (water.density_kg_m3 * kGravity_m_s2) + head_above_pump_m;
}

}  // namespace ebb::physics
