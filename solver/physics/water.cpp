// Liquid water at 0.1 MPa and the standard atmosphere.
//
// Density and viscosity: IAPWS SR6-08(2011), "Revised Supplementary Release on Properties of Liquid Water at 0.1 MPa". With
// alpha = 10 K/(593 K - T) and beta = 10 K/(T - 232 K) the specific volume is
//     v = R (10 K)/(0.1 MPa) (a5 + sum a_i alpha^n_i + sum b_i beta^m_i)
// and the viscosity a sum of four powers of T/300 K. Range 253.15 to 383.15 K (metastable outside 0 to 100 degC). The release states
// that it agrees with the full formulations within their uncertainty: 1e-6 in density, 1 % in viscosity; measured against IAPWS-95
// between 0 and 40 degC they differ by 7e-7 (the 1.3 kPa between 0.1 MPa and 1 atm) and 3e-5. Fresh water: a farm's dissolved salts add about 0.1 %
// to the density.
//
// Vapour pressure: IAPWS SR1-86 (W. Wagner and A. Pruss, J. Phys. Chem. Ref. Data 22 (1993) 783, equation 1), in 1 - T/Tc. Range
// 273.16 to 647.096 K.
//
// Atmosphere: ISO 2533:1975, p = p0 (1 - 0.0065 z/288.15)^5.25588 up to 11 km, with g/(R L) = 9.80665/(287.05287 x 0.0065).
//
// Cost: a few hundred nanoseconds; made once per solve. Failure: none inside the ranges, which the layout's check guards.

#include "solver/physics/water.h"

#include "solver/physics/constants.h"

#include <array>
#include <cassert>
#include <cmath>

namespace ebb::physics {
namespace {

constexpr double kZeroCelsius_k = 273.15;

double sum_of_powers(const std::array<double, 5>& coefficients, const std::array<int, 5>& exponents, double x) {
    double sum = 0.0;
    for (std::size_t i = 0; i < coefficients.size(); ++i) {
        sum += coefficients[i] * std::pow(x, exponents[i]);
    }
    return sum;
}

}  // namespace

double water_density_kg_m3(double temperature_c) {
    constexpr std::array<double, 5> kA{6.74458446e3, -2.22521604e5, 1.00231247e8, -1.63552118e9, 8.32299658e9};
    constexpr std::array<int, 5> kN{4, 5, 7, 8, 9};
    constexpr std::array<double, 5> kB{-1.53195665e-2, 3.11337859e-2, -4.23546241e-2, 3.38713507e-2, -1.19946761e-2};
    constexpr std::array<int, 5> kM{2, 3, 4, 5, 6};
    constexpr double kA5 = 1.93763157e-2;
    constexpr double kB5 = 5.78545292e-3;                            // its exponent of beta is 1
    constexpr double kVolumeScale_m3_kg = 461.51805 * 10.0 / 0.1e6;  // R T_R/p0

    const double temperature_k = temperature_c + kZeroCelsius_k;
    assert(temperature_k > 253.0 && temperature_k < 384.0);
    const double alpha = 10.0 / (593.0 - temperature_k);
    const double beta = 10.0 / (temperature_k - 232.0);
    const double volume_m3_kg = kVolumeScale_m3_kg * (kA5 + sum_of_powers(kA, kN, alpha) + kB5 * beta + sum_of_powers(kB, kM, beta));
    return 1.0 / volume_m3_kg;
}

double water_viscosity_pa_s(double temperature_c) {
    const double ratio = (temperature_c + kZeroCelsius_k) / 300.0;
    return 1e-6 *
           (280.68 * std::pow(ratio, -1.9) + 511.45 * std::pow(ratio, -7.7) + 61.131 * std::pow(ratio, -19.6) + 0.45903 * std::pow(ratio, -40.0));
}

double vapour_pressure_pa(double temperature_c) {
    constexpr double kCriticalTemperature_k = 647.096;
    constexpr double kCriticalPressure_pa = 22.064e6;
    const double temperature_k = temperature_c + kZeroCelsius_k;
    const double tau = 1.0 - temperature_k / kCriticalTemperature_k;
    const double root = std::sqrt(tau);
    const double tau3 = tau * tau * tau;
    const double sum = -7.85951783 * tau + 1.84408259 * tau * root - 11.7866497 * tau3 + 22.6807411 * tau3 * root - 15.9618719 * tau3 * tau +
                       1.80122502 * tau3 * tau3 * tau * root;
    return kCriticalPressure_pa * std::exp(kCriticalTemperature_k / temperature_k * sum);
}

double atmosphere_pa(double altitude_m) {
    constexpr double kLapse_k_m = 0.0065;
    constexpr double kSeaLevel_k = 288.15;
    constexpr double kAirGasConstant_j_kg_k = 287.05287;
    constexpr double kExponent = kGravity_m_s2 / (kAirGasConstant_j_kg_k * kLapse_k_m);
    assert(altitude_m < 11001.0);
    return kAtmosphere_pa * std::pow(1.0 - kLapse_k_m * altitude_m / kSeaLevel_k, kExponent);
}

Water water_at(double temperature_c, double altitude_m) {
    Water water;
    water.temperature_c = temperature_c;
    water.density_kg_m3 = water_density_kg_m3(temperature_c);
    water.dynamic_viscosity_pa_s = water_viscosity_pa_s(temperature_c);
    water.kinematic_viscosity_m2_s = water.dynamic_viscosity_pa_s / water.density_kg_m3;
    water.vapour_pressure_pa = vapour_pressure_pa(temperature_c);
    water.atmospheric_pressure_pa = atmosphere_pa(altitude_m);
    return water;
}

}  // namespace ebb::physics
