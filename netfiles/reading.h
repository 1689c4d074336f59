#pragma once
// The state of one reading, shared by the functions that turn elements into parts of a layout. Inside netfiles only.

#include <string>
#include <unordered_map>
#include <unordered_set>
#include <vector>

#include "netfiles/assumptions.h"
#include "netfiles/catalogue.h"
#include "netfiles/element.h"
#include "solver/layout/layout.h"

namespace ebb::netfiles {

/// A fitting whose kind is looked up when every catalogue has been read.
struct PendingFitting {
    std::int32_t pipe = 0;
    std::int32_t fitting = 0;
    layout::Place place;
};

/// What sizes of a series cost; the series is looked up when every catalogue has been read.
struct PendingPrices {
    std::string series;
    layout::Place place;
    struct Size {
        std::string name;
        double price_per_metre = layout::kNotSaid;
        layout::Place place;
    };
    std::vector<Size> sizes;
};

struct Reading {
    Reading(const Documents& documents, Report& report) : context{documents, report} {}

    ElementContext context;
    layout::Layout layout;
    Catalogue catalogue;
    AssumptionLedger assumptions;
    std::vector<PendingFitting> pending_fittings;
    std::vector<PendingPrices> pending_prices;
    std::unordered_map<std::string, layout::Place> series_places, fitting_places;

    void note_unsound(const Element& element) {
        if (!element.sound()) {
            unsound_things.insert(element.about());
        }
    }
    std::unordered_set<std::string> unsound_things;  ///< labels of elements with errors of their own
};

// Each takes a checked element and adds what it says to the layout.
void read_vessel(Reading& reading, const Element& element);
void read_pond(Reading& reading, const Element& element);
void read_pump(Reading& reading, const Element& element);
void read_filter(Reading& reading, const Element& element);
void read_tee(Reading& reading, const Element& element);
void read_nozzle(Reading& reading, const Element& element);
void read_supply(Reading& reading, const Element& element);
void read_float_valve(Reading& reading, const Element& element);
void read_standpipe(Reading& reading, const Element& element);
void read_siphon(Reading& reading, const Element& element);
void read_pipe(Reading& reading, const Element& element);
void read_arrangement(Reading& reading, const Element& element);
void read_routine(Reading& reading, const Element& element);
void read_pump_model(Reading& reading, const Element& element);
void read_pipe_series(Reading& reading, const Element& element);
void read_fitting_kind(Reading& reading, const Element& element);
void read_prices(Reading& reading, const Element& element);
void read_economy(Reading& reading, const Element& element);
void read_limits(Reading& reading, const Element& element);
void read_plus_minus(Reading& reading, const Element& element);

/// Enters the prices of sizes into their series (a built-in one is copied); called when all files have been read, before resolve_pipes().
void resolve_prices(Reading& reading);

/// Bores, roughnesses and losses that come from series and fitting kinds; called when all files have been read.
void resolve_pipes(Reading& reading);

/// Notes the defaults that do not belong to one element as it is read: water temperature, port losses.
void note_general_assumptions(Reading& reading);

}  // namespace ebb::netfiles
