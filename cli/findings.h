#pragma once
// What a person should look at in an answer: the solver's own warnings, then the answer held against limits of common practice.
// Every limit stands in one table here, with where it comes from; nothing here changes an answer.

#include <cstdint>
#include <string>
#include <vector>

#include "solver/layout/layout.h"
#include "solver/settle/answer.h"

namespace ebb::cli {

/// How much it matters: trouble is wrong now (water on the floor, a pump that gives nothing), a doubt is worth a second look.
enum class Weight : std::uint8_t { trouble, doubt };

struct Finding {
    Weight weight = Weight::doubt;
    std::string code;   ///< stable, lower case with hyphens
    std::string about;  ///< id of the thing
    std::string says;   ///< one sentence, in the units of the output
    layout::Place place;
};

/// Limits of common practice, or of the layout's <limits> where it says any; the ranges behind them are in docs/commands.md.
struct Practice {
    Practice() = default;
    explicit Practice(const layout::Limits& limits);

    double supply_velocity_m_s = 1.5;   ///< above: noise, wear and loss (0.6 to 1.5 usual)
    double suction_velocity_m_s = 1.2;  ///< above: the pump's inlet starves
    double drain_scour_m_s = 0.6;       ///< below, part full: solids stay (2 ft/s of plumbing tables)
    double full_line_scour_m_s = 0.3;   ///< below, running full: solids settle
    double drain_fill = 0.75;           ///< above: no room left for air
    double best_point_low = 0.70;       ///< share of best-efficiency flow a pump may run at
    double best_point_high = 1.20;
    double npsh_ratio = 1.1;           ///< available over required, at the least
    double freeboard_m = 0.050;        ///< wanted between the highest level and the rim
    double least_freeboard_m = 0.025;  ///< below: a leaf in the overflow floods the floor
    // true where the layout sets the limit
    bool own_supply_velocity = false, own_suction_velocity = false, own_drain_fill = false, own_drain_scour = false;
};

class Speech;

/// Everything to look at in `answer`, trouble first. `layout` must be the validated layout the answer is of.
std::vector<Finding> findings(const layout::Layout& layout, const settle::Answer& answer, const Speech& speech);

/// The same of an answer to conditions that are no arrangement of the layout.
std::vector<Finding> findings(const layout::Layout& layout, const settle::Answer& answer, const layout::Conditions& conditions, const Speech& speech);

}  // namespace ebb::cli
