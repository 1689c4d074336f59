#include "solver/physics/constants.h"
#include "solver/physics/suction.h"
#include "solver/physics/water.h"
#include "tests/near.h"
#include "tests/physics/support.h"

using namespace ebb::physics;
using namespace ebb::physics::test;

TEST_CASE("water properties agree with the full IAPWS formulations from 0 to 40 degC") {
    // tests/reference/water_properties.csv: IAPWS-95 density, IAPWS R12-08 viscosity at 101325 Pa, IAPWS-95 saturation, by library iapws 1.5.2.
    // The model's formulas hold at 0.1 MPa: the 1325 Pa between are 6e-7 of the density by compressibility (4.5e-10 1/Pa).
    for (const Row& row : table("water_properties.csv", "T_C,density")) {
        const double celsius = number(row[0]);
        CAPTURE(celsius);
        CHECK(relative(water_density_kg_m3(celsius), number(row[1])) < 1.2e-6);
        CHECK(relative(water_viscosity_pa_s(celsius), number(row[2])) < 5e-5);
        CHECK(relative(vapour_pressure_pa(celsius), 1e3 * number(row[4])) < 1e-4);  // region 4 of the industrial formulation
        if (!std::isnan(number(row[5]))) {
            CHECK(relative(vapour_pressure_pa(celsius), 1e3 * number(row[5])) < 8e-5);  // the table's own two columns differ by 7.0e-5
        }
        CHECK(relative(water_at(celsius, 0.0).kinematic_viscosity_m2_s, number(row[3])) < 5.1e-5);
    }
}

TEST_CASE("density and viscosity at the points where the release is verified") {
    // IAPWS SR6-08(2011) as coded in library iapws 1.5.3 at 260, 298.15 and 375 K.
    CHECK(relative(water_density_kg_m3(260.0 - 273.15), 997.068360271) < 1e-11);
    CHECK(relative(water_density_kg_m3(25.0), 997.0470134) < 1e-10);
    CHECK(relative(water_density_kg_m3(375.0 - 273.15), 957.009710341) < 1e-11);
    CHECK(relative(water_viscosity_pa_s(260.0 - 273.15), 0.00305836075057) < 1e-10);
    CHECK(relative(water_viscosity_pa_s(25.0), 0.000889996773679) < 1e-11);
    CHECK(relative(water_viscosity_pa_s(375.0 - 273.15), 0.000276207244913) < 1e-10);
}

TEST_CASE("vapour pressure at the triple point and at the boiling point") {
    // IAPWS SR1-86 check values, 611.657 Pa at 273.16 K and 0.101325 MPa at 373.1243 K (from memory).
    CHECK(relative(vapour_pressure_pa(0.01), 611.657) < 2e-6);
    CHECK(relative(vapour_pressure_pa(373.1243 - 273.15), 101325.0) < 1e-6);
}

TEST_CASE("the standard atmosphere") {
    // ISO 2533:1975 / ICAO Doc 7488 table values (from memory).
    CHECK(atmosphere_pa(0.0) == 101325.0);
    CHECK(relative(atmosphere_pa(1000.0), 89874.6) < 1e-6);
    CHECK(relative(atmosphere_pa(5000.0), 54019.9) < 1e-6);
    CHECK(relative(atmosphere_pa(11000.0), 22632.1) < 1e-5);
}

TEST_CASE("NPSH available: highest pump inlet") {
    // F. M. White, Fluid Mechanics, example 11.3 (from memory): 40 ft required, 14.7 psia, 6 ft lost; pv 0.26 psia at 62.4 lb/ft3, or
    // 11.52 psia at specific gravity 0.9635: inlet at -12.7 ft and -38.4 ft from the surface.
    Water cold;
    cold.density_kg_m3 = 62.4 * kPoundPerFoot3_kg_m3;
    cold.atmospheric_pressure_pa = 14.7 * kPsi_pa;
    cold.vapour_pressure_pa = 0.26 * kPsi_pa;
    CHECK(npsh_available_m(cold, (-6.0 + 12.7) * kFoot_m) / kFoot_m == ebb::test::near(40.0).epsilon(0.1 / 40.0));
    Water hot = cold;
    hot.density_kg_m3 = 62.4 * 0.9635 * kPoundPerFoot3_kg_m3;
    hot.vapour_pressure_pa = 11.52 * kPsi_pa;
    CHECK(npsh_available_m(hot, (-6.0 + 38.4) * kFoot_m) / kFoot_m == ebb::test::near(40.0).epsilon(0.1 / 40.0));
    // Crane TP-410 example 7-32 (by library fluids 1.3.1): 5 psig over the liquid, 25 ft below the pump, 6 ft lost; recomputed 13.887 ft.
    Water tank = cold;
    tank.density_kg_m3 = 62.364 * kPoundPerFoot3_kg_m3;
    tank.atmospheric_pressure_pa = (14.696 + 5.0) * kPsi_pa;
    tank.vapour_pressure_pa = 0.256 * kPsi_pa;
    CHECK(npsh_available_m(tank, (-25.0 - 6.0) * kFoot_m) / kFoot_m == ebb::test::near(13.887).epsilon(0.001));
}
