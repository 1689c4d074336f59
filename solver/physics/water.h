#pragma once

// Liquid water at the pressure of the open air, and the air above it.

namespace ebb::physics {

/// Properties of fresh water at one temperature, with the air pressure of the site.
struct Water {
    double temperature_c = 20.0;
    double density_kg_m3 = 0.0;
    double dynamic_viscosity_pa_s = 0.0;
    double kinematic_viscosity_m2_s = 0.0;
    double vapour_pressure_pa = 0.0;
    double atmospheric_pressure_pa = 0.0;
};

/// Water at `temperature_c` under the standard atmosphere at `altitude_m`.
/// Density and viscosity: IAPWS SR6-08(2011) at 0.1 MPa; vapour pressure: IAPWS SR1-86; air: ISO 2533 up to 11 km.
/// Range -20 to 110 degC for the formulas (0 to 100 degC is what a farm can mean), -1000 to 11000 m.
Water water_at(double temperature_c, double altitude_m);

/// Density of liquid water at 0.1 MPa, kg/m3 (IAPWS SR6-08(2011), table 1 and equation 1).
double water_density_kg_m3(double temperature_c);

/// Dynamic viscosity of liquid water at 0.1 MPa, Pa s (IAPWS SR6-08(2011), equation 7).
double water_viscosity_pa_s(double temperature_c);

/// Pressure of saturated water vapour, Pa (IAPWS SR1-86, equation 1).
double vapour_pressure_pa(double temperature_c);

/// Pressure of the standard atmosphere, Pa (ISO 2533:1975; geopotential altitude, troposphere).
double atmosphere_pa(double altitude_m);

}  // namespace ebb::physics
