#pragma once
// The figures of the built-in catalogue, as published.
//
// Bore = outside diameter - 2 x least wall, as handbooks tabulate. The average bore of plastic pipe is less, by up to 3 % in the half-inch
// size (17 % in head loss); the lower end of each range is the bore at the thickest wall the standard allows.

#include <array>
#include <string_view>

#include "netfiles/catalogue.h"

namespace ebb::netfiles {

/// ASTM D1785, tables 1 and 2: outside diameter, least wall, one-sided tolerance of the wall, all in inches.
struct InchSize {
    std::string_view nominal;
    double outside_in, wall_in, wall_tolerance_in;
};

inline constexpr std::string_view kScheduleSource = "ASTM D1785, tables 1 and 2; bore = outside diameter - 2 x least wall";

inline constexpr std::array kSchedule40 = {
    InchSize{"1/2", 0.840, 0.109, 0.020},   InchSize{"3/4", 1.050, 0.113, 0.020},   InchSize{"1", 1.315, 0.133, 0.020},
    InchSize{"1-1/4", 1.660, 0.140, 0.020}, InchSize{"1-1/2", 1.900, 0.145, 0.020}, InchSize{"2", 2.375, 0.154, 0.020},
    InchSize{"2-1/2", 2.875, 0.203, 0.024}, InchSize{"3", 3.500, 0.216, 0.026},     InchSize{"4", 4.500, 0.237, 0.028},
    InchSize{"5", 5.563, 0.258, 0.031},     InchSize{"6", 6.625, 0.280, 0.034},     InchSize{"8", 8.625, 0.322, 0.039},
};

inline constexpr std::array kSchedule80 = {
    InchSize{"1/2", 0.840, 0.147, 0.020},   InchSize{"3/4", 1.050, 0.154, 0.020},   InchSize{"1", 1.315, 0.179, 0.021},
    InchSize{"1-1/4", 1.660, 0.191, 0.023}, InchSize{"1-1/2", 1.900, 0.200, 0.024}, InchSize{"2", 2.375, 0.218, 0.026},
    InchSize{"2-1/2", 2.875, 0.276, 0.033}, InchSize{"3", 3.500, 0.300, 0.036},     InchSize{"4", 4.500, 0.337, 0.040},
    InchSize{"5", 5.563, 0.375, 0.045},     InchSize{"6", 6.625, 0.432, 0.052},     InchSize{"8", 8.625, 0.500, 0.060},
};

/// EN ISO 1452-2: outside diameter and least wall, mm; `other_wall_mm` is that of the thicker class (design coefficient 2.5) also sold
/// under the same pressure from 110 mm up, 0 where there is none.
struct MetricSize {
    double outside_mm, wall_mm, other_wall_mm;
};

inline constexpr std::string_view kMetricSource =
    "EN ISO 1452-2 (walls checked against the rule of ISO 4065); bore = outside diameter - 2 x least wall";

inline constexpr std::array kPn10 = {
    MetricSize{32, 1.6, 0}, MetricSize{40, 1.9, 0},    MetricSize{50, 2.4, 0},    MetricSize{63, 3.0, 0},    MetricSize{75, 3.6, 0},
    MetricSize{90, 4.3, 0}, MetricSize{110, 4.2, 5.3}, MetricSize{125, 4.8, 6.0}, MetricSize{140, 5.4, 6.7}, MetricSize{160, 6.2, 7.7},
};

inline constexpr std::array kPn16 = {
    MetricSize{20, 1.5, 0},    MetricSize{25, 1.9, 0},    MetricSize{32, 2.4, 0},     MetricSize{40, 3.0, 0},
    MetricSize{50, 3.7, 0},    MetricSize{63, 4.7, 0},    MetricSize{75, 5.6, 0},     MetricSize{90, 6.7, 0},
    MetricSize{110, 6.6, 8.1}, MetricSize{125, 7.4, 9.2}, MetricSize{140, 8.3, 10.3}, MetricSize{160, 9.5, 11.8},
};

/// Fittings: one figure for the sizes of such farms (1/2 to 4 inch), with the spread of the sources as its range.
struct FittingDatum {
    std::string_view name, title;
    Ranged loss;
    std::string_view source;
};

inline constexpr std::array kFittingData = {
    FittingDatum{"elbow-90",
                 "90 degree elbow",
                 {0.9, 0.55, 1.5},
                 "Crane TP-410 30 fT: 0.57 to 0.69 at 2 to 1 in; Hooper 1981 two-K about 0.6 to 0.8; Hydraulic Institute screwed 1.0 to 1.5"},
    FittingDatum{"elbow-45", "45 degree elbow", {0.35, 0.25, 0.45}, "Crane TP-410 16 fT: 0.30 to 0.37; Hydraulic Institute screwed 0.30 to 0.33"},
    FittingDatum{"bend-long",
                 "90 degree bend of long radius (1.5 bores or more)",
                 {0.4, 0.25, 0.76},
                 "Crane TP-410 14 fT: 0.27 to 0.32; Hydraulic Institute screwed long radius 0.43 to 0.76"},
    FittingDatum{"bend-return", "180 degree return bend", {1.1, 0.7, 1.5}, "Crane TP-410 50 fT: 0.95 to 1.15; Hooper 1981 two-K"},
    FittingDatum{
        "mitre-90", "90 degree turn cut and welded once", {1.3, 1.1, 1.6}, "Crane TP-410 60 fT: 1.14 to 1.38; Hooper 1981 1.15 (1 + 1/inch)"},
    FittingDatum{"tee-run",
                 "tee, straight through",
                 {0.4, 0.1, 0.9},
                 "Crane TP-410 20 fT: 0.38 to 0.46; Hydraulic Institute screwed 0.90, flanged 0.15 to 0.27"},
    FittingDatum{"tee-branch",
                 "tee, into or out of the branch",
                 {1.4, 0.8, 1.9},
                 "Crane TP-410 60 fT: 1.14 to 1.38; Hydraulic Institute screwed 1.4 to 1.9, flanged 0.8 to 1.0"},
    FittingDatum{"coupling", "coupling or socket", {0.05, 0.0, 0.1}, "common practice"},
    FittingDatum{"union", "union", {0.06, 0.0, 0.1}, "common practice"},
    FittingDatum{"bulkhead", "tank connector, besides the entrance or exit", {0.1, 0.0, 0.3}, "common practice"},
    FittingDatum{"reducer",
                 "step to the next smaller size, in velocity heads of the smaller pipe",
                 {0.2, 0.1, 0.3},
                 "Crane TP-410 0.5 (1 - beta^2) for beta 0.6 to 0.8"},
    FittingDatum{"enlarger",
                 "step from the next smaller size, in velocity heads of the smaller pipe",
                 {0.25, 0.13, 0.41},
                 "Borda-Carnot (1 - beta^2)^2 for beta 0.6 to 0.8"},
};

}  // namespace ebb::netfiles
