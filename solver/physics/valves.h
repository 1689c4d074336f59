#pragma once

// Valves: opening -> loss coefficient, by published characteristics.

#include <optional>
#include <span>
#include <string_view>

namespace ebb::physics {

/// Kinds of valve by the words of the trade. `check` and `foot` let water through one way only.
enum class ValveKind { ball, gate, butterfly, globe, angle, diaphragm, needle, plug, check, foot };

/// A coefficient with the range a reader should keep in mind, and where it comes from.
struct StatedCoefficient {
    double value = 0.0;
    double low = 0.0;
    double high = 0.0;
    std::string_view source;
};

/// Every kind, in the order of the enumeration.
std::span<const ValveKind> valve_kinds();

/// The word for a kind: "ball", "gate", ...
std::string_view valve_kind_name(ValveKind kind);

/// The kind for a word; nothing when the word is none of them.
std::optional<ValveKind> valve_kind_named(std::string_view name);

/// True for kinds that bar reverse flow.
bool valve_is_one_way(ValveKind kind);

/// Loss coefficient fully open, in velocity heads of the pipe, with its range and source.
StatedCoefficient default_valve_loss(ValveKind kind);

/// Loss coefficient at `opening`, the share of the travel from shut (0) to fully open (1).
/// Equals loss_fully_open at 1, never falls as the valve shuts, and grows without bound towards 0:
/// opening must be > 0 (the caller treats 0 as shut). One-way kinds ignore the opening.
double valve_loss_coefficient(ValveKind kind, double opening, double loss_fully_open);

/// Where the opening characteristic of a kind was published.
std::string_view valve_characteristic_source(ValveKind kind);

}  // namespace ebb::physics
