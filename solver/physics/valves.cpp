// Valves: opening to loss coefficient.
//
// K(x) = K(1) + extra(x): K(1) is the loss fully open (given, or the default with its range), extra the loss that the restriction adds at
// opening x, the share of the travel from shut. The extras are published tables:
//   gate, ball and plug, butterfly: J. Weisbach's experiments (Experimental-Hydraulik, 1855), as Crane-style handbooks repeat them:
//       gate by lift over bore; ball and plug by the cock's angle, shut at 82 degrees; butterfly by the disc's angle, shut at 90
//   globe (plug disc) and diaphragm: C. E. Lapple, Chem. Eng. 56 (1949) no. 5, 96, as Perry's handbook table 6-4 repeats it
// all from memory of those tables. No table was at hand for angle and needle valves: they take the globe's (our assumption).
//
// Between points ln(1 + extra) is a monotone cubic of ln x; below the least opening of a table it is straight, a power law, so that K grows
// without bound towards shut and never falls as the valve closes. One-way kinds have no handle: their K does not depend on the opening.
//
// Range: 0 < x <= 1; the same make may differ by a factor of two at one handle position, which balancing on site replaces. Cost: a
// microsecond, once per valve and arrangement; nothing is allocated. Failure: none; 0 is the caller's (shut).

#include "solver/physics/valves.h"

#include "solver/physics/monotone_curve.h"

#include <array>
#include <cassert>
#include <cmath>
#include <cstddef>

namespace ebb::physics {
namespace {

/// Opening and the loss it adds, in velocity heads of the pipe.
struct OpeningPoint {
    double opening;
    double extra;
};

constexpr std::string_view kWeisbach = "Weisbach, Experimental-Hydraulik, 1855 (from memory)";
constexpr std::string_view kLapple = "Lapple, Chem. Eng. 56 (1949) no. 5, 96; Perry table 6-4 (from memory)";
constexpr std::string_view kAsGlobe = "as the globe valve (assumption)";
constexpr std::string_view kNoHandle = "no handle";

constexpr std::array kGate{OpeningPoint{0.125, 97.8}, OpeningPoint{0.25, 17.0}, OpeningPoint{0.375, 5.52}, OpeningPoint{0.5, 2.06},
                           OpeningPoint{0.625, 0.81}, OpeningPoint{0.75, 0.26}, OpeningPoint{0.875, 0.07}, OpeningPoint{1.0, 0.0}};

constexpr double cock(double angle_deg) { return 1.0 - angle_deg / 82.0; }
constexpr std::array kCock{OpeningPoint{cock(65), 486.0}, OpeningPoint{cock(60), 206.0}, OpeningPoint{cock(55), 106.0}, OpeningPoint{cock(50), 52.6},
                           OpeningPoint{cock(45), 31.2},  OpeningPoint{cock(40), 17.3},  OpeningPoint{cock(35), 9.68},  OpeningPoint{cock(30), 5.47},
                           OpeningPoint{cock(25), 3.10},  OpeningPoint{cock(20), 1.56},  OpeningPoint{cock(15), 0.75},  OpeningPoint{cock(10), 0.29},
                           OpeningPoint{cock(5), 0.05},   OpeningPoint{1.0, 0.0}};

constexpr double disc(double angle_deg) { return 1.0 - angle_deg / 90.0; }
constexpr std::array kDisc{OpeningPoint{disc(70), 751.0}, OpeningPoint{disc(65), 256.0}, OpeningPoint{disc(60), 118.0}, OpeningPoint{disc(55), 58.8},
                           OpeningPoint{disc(50), 32.6},  OpeningPoint{disc(45), 18.7},  OpeningPoint{disc(40), 10.8},  OpeningPoint{disc(35), 6.22},
                           OpeningPoint{disc(30), 3.91},  OpeningPoint{disc(25), 2.51},  OpeningPoint{disc(20), 1.54},  OpeningPoint{disc(15), 0.90},
                           OpeningPoint{disc(10), 0.52},  OpeningPoint{disc(5), 0.24},   OpeningPoint{1.0, 0.0}};

// Lapple's coefficients less the fully open one: 9.0, 13, 36, 112 and 2.3, 2.6, 4.3, 21 at full, 3/4, 1/2, 1/4.
constexpr std::array kGlobe{OpeningPoint{0.25, 103.0}, OpeningPoint{0.5, 27.0}, OpeningPoint{0.75, 4.0}, OpeningPoint{1.0, 0.0}};
constexpr std::array kDiaphragm{OpeningPoint{0.25, 18.7}, OpeningPoint{0.5, 2.0}, OpeningPoint{0.75, 0.3}, OpeningPoint{1.0, 0.0}};

constexpr std::size_t kMostPoints = 16;

/// One kind of valve. The order of rows is the order of the enumeration.
struct ValveRow {
    ValveKind kind;
    std::string_view name;
    StatedCoefficient fully_open;
    std::span<const OpeningPoint> characteristic;
    std::string_view characteristic_source;
};

// Fully open: multiples of the friction factor in fully rough flow, Crane TP-410 (2009) pages, at its 0.020 of a 40 mm bore.
constexpr std::array<ValveRow, 10> kRows{{
    {ValveKind::ball, "ball", {0.06, 0.05, 0.5, "Crane TP-410: 3 fT, full bore; reduced bores to 0.5 (common practice)"}, kCock, kWeisbach},
    {ValveKind::gate, "gate", {0.16, 0.1, 0.3, "Crane TP-410: 8 fT"}, kGate, kWeisbach},
    {ValveKind::butterfly, "butterfly", {0.9, 0.25, 1.5, "Crane TP-410: 45 fT; Hooper 1981: 0.25"}, kDisc, kWeisbach},
    {ValveKind::globe, "globe", {6.8, 4.0, 10.0, "Crane TP-410: 340 fT; Hooper 1981: 4"}, kGlobe, kLapple},
    {ValveKind::angle, "angle", {3.0, 1.1, 5.0, "Crane TP-410: 150 or 55 fT"}, kGlobe, kAsGlobe},
    {ValveKind::diaphragm, "diaphragm", {3.0, 0.8, 4.0, "Crane TP-410: 149 fT over a weir, 39 fT straight"}, kDiaphragm, kLapple},
    {ValveKind::needle, "needle", {10.0, 5.0, 20.0, "common practice"}, kGlobe, kAsGlobe},
    {ValveKind::plug, "plug", {0.36, 0.25, 0.9, "Crane TP-410: 18 fT"}, kCock, kWeisbach},
    {ValveKind::check, "check", {2.0, 1.0, 12.0, "Crane TP-410: swing 100 or 50 fT, lift 600 fT"}, {}, kNoHandle},
    {ValveKind::foot, "foot", {8.4, 1.5, 10.0, "Crane TP-410: with strainer, poppet 420 fT, hinged 75 fT"}, {}, kNoHandle},
}};

constexpr std::array<ValveKind, 10> kKinds{ValveKind::ball,      ValveKind::gate,   ValveKind::butterfly, ValveKind::globe, ValveKind::angle,
                                           ValveKind::diaphragm, ValveKind::needle, ValveKind::plug,      ValveKind::check, ValveKind::foot};

const ValveRow& row_of(ValveKind kind) {
    const ValveRow& row = kRows.at(static_cast<std::size_t>(kind));
    assert(row.kind == kind);
    return row;
}

/// The loss that the restriction adds.
double extra_loss(std::span<const OpeningPoint> table, double opening) {
    std::array<double, kMostPoints> x{};
    std::array<double, kMostPoints> y{};
    assert(table.size() <= kMostPoints);
    for (std::size_t i = 0; i < table.size(); ++i) {
        x[i] = std::log(table[i].opening);
        y[i] = std::log1p(table[i].extra);
    }
    const std::span<const double> xs{x.data(), table.size()};
    const std::span<const double> ys{y.data(), table.size()};
    return std::expm1(monotone_at(xs, ys, std::log(opening)).value);
}

}  // namespace

std::span<const ValveKind> valve_kinds() { return kKinds; }

std::string_view valve_kind_name(ValveKind kind) { return row_of(kind).name; }

std::optional<ValveKind> valve_kind_named(std::string_view name) {
    for (const ValveRow& row : kRows) {
        if (row.name == name) {
            return row.kind;
        }
    }
    return std::nullopt;
}

bool valve_is_one_way(ValveKind kind) { return kind == ValveKind::check || kind == ValveKind::foot; }

StatedCoefficient default_valve_loss(ValveKind kind) { return row_of(kind).fully_open; }

double valve_loss_coefficient(ValveKind kind, double opening, double loss_fully_open) {
    const ValveRow& row = row_of(kind);
    if (row.characteristic.empty() || opening >= 1.0) {
        return loss_fully_open;
    }
    assert(opening > 0.0);
    return loss_fully_open + extra_loss(row.characteristic, opening);
}

std::string_view valve_characteristic_source(ValveKind kind) { return row_of(kind).characteristic_source; }

}  // namespace ebb::physics
