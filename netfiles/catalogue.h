#pragma once
// What comes in standard sizes: pipe series and fittings, built in with their sources, or from a catalogue file.

#include <span>
#include <string>
#include <string_view>
#include <vector>

namespace ebb::netfiles {

/// A figure with the range in which it plausibly lies.
struct Ranged {
    double value = 0.0, low = 0.0, high = 0.0;
};

/// One size of a series. `bore_low_m` is the bore if the wall is at the upper end of its tolerance (or the other class sold under that name).
struct PipeSize {
    std::string name;  ///< "32 mm", "1-1/2 in"
    double outside_m = 0.0, wall_m = 0.0, bore_m = 0.0, bore_low_m = 0.0;
    double price_per_metre = 0.0;  ///< NaN when not known
};

/// A series of pipe: its sizes, and the roughness they share.
struct PipeSeries {
    std::string name;   ///< "pvc-pn16", "schedule-40"
    std::string title;  ///< one line for people
    std::string source;
    Ranged roughness_m, hazen_williams_c, manning_n;
    std::vector<PipeSize> sizes;
};

/// A kind of fitting and what one of it loses.
struct FittingKind {
    std::string name;  ///< "elbow-90"
    std::string title;
    Ranged loss;  ///< velocity heads
    std::string source;
};

/// What an entrance or an exit costs, for `entry-loss` and `exit-loss`.
struct PortLoss {
    std::string name, title;
    Ranged loss;
    std::string source;
};

/// Series and fitting kinds of one or more files.
struct Catalogue {
    std::vector<PipeSeries> series;
    std::vector<FittingKind> fittings;
};

/// The built-in series (ASTM D1785 schedules 40 and 80, metric PVC-U PN 10 and PN 16), fittings and port losses.
const Catalogue& built_in_catalogue();
/// The entrances and exits that are built in.
std::span<const PortLoss> port_losses();

/// The size of a series by its name; spaces do not count ("32mm" is "32 mm"). nullptr when there is none.
const PipeSize* find_size(const PipeSeries& series, std::string_view name);

/// The general default of plastic pipe, used where neither the pipe nor its series says.
const PipeSeries& plain_plastic();

}  // namespace ebb::netfiles
