#include "netfiles/catalogue.h"

#include <algorithm>
#include <array>
#include <limits>

#include "netfiles/catalogue_data.h"

namespace ebb::netfiles {
namespace {

constexpr double kNoPrice = std::numeric_limits<double>::quiet_NaN();

std::string inch_name(std::string_view nominal) { return std::string(nominal) + " in"; }

std::string without_spaces(std::string_view text) {
    std::string kept;
    std::ranges::copy_if(text, std::back_inserter(kept), [](char c) { return c != ' '; });
    return kept;
}

PipeSeries plastic_series(std::string name, std::string title, std::string source) {
    PipeSeries series = plain_plastic();
    series.name = std::move(name);
    series.title = std::move(title);
    series.source = std::move(source);
    return series;
}

PipeSeries schedule_series(std::string name, std::string title, std::span<const InchSize> sizes) {
    PipeSeries series = plastic_series(std::move(name), std::move(title), std::string(kScheduleSource));
    for (const InchSize& inch : sizes) {
        const double outside_m = inch.outside_in * 254.0 / 10000.0;
        const double wall_m = inch.wall_in * 254.0 / 10000.0;
        const double thickest_m = (inch.wall_in + inch.wall_tolerance_in) * 254.0 / 10000.0;
        series.sizes.push_back({inch_name(inch.nominal), outside_m, wall_m, outside_m - 2.0 * wall_m, outside_m - 2.0 * thickest_m, kNoPrice});
    }
    return series;
}

/// The wall of metric pressure pipe may exceed its least value by a tenth and 0.2 mm (as the product standards of plastic pipe have it, from
/// memory); where a thicker class is sold under the same name, that one sets the lower end of the bore.
double thickest_wall_mm(const MetricSize& size) { return std::max(size.wall_mm * 1.1 + 0.2, size.other_wall_mm); }

PipeSeries metric_series(std::string name, std::string title, std::span<const MetricSize> sizes) {
    PipeSeries series = plastic_series(std::move(name), std::move(title), std::string(kMetricSource));
    for (const MetricSize& metric : sizes) {
        const double outside = metric.outside_mm;
        series.sizes.push_back({std::to_string(static_cast<int>(metric.outside_mm)) + " mm", outside / 1000.0, metric.wall_mm / 1000.0,
                                (outside - 2.0 * metric.wall_mm) / 1000.0, (outside - 2.0 * thickest_wall_mm(metric)) / 1000.0, kNoPrice});
    }
    return series;
}

Catalogue make_catalogue() {
    Catalogue catalogue;
    catalogue.series.push_back(schedule_series("schedule-40", "PVC pipe of inch sizes, ASTM D1785 schedule 40", kSchedule40));
    catalogue.series.push_back(schedule_series("schedule-80", "PVC pipe of inch sizes, ASTM D1785 schedule 80", kSchedule80));
    catalogue.series.push_back(metric_series("pvc-pn10", "metric PVC-U pressure pipe for 10 bar, by outside diameter", kPn10));
    catalogue.series.push_back(metric_series("pvc-pn16", "metric PVC-U pressure pipe for 16 bar, by outside diameter", kPn16));
    for (const FittingDatum& datum : kFittingData) {
        catalogue.fittings.push_back({std::string(datum.name), std::string(datum.title), datum.loss, std::string(datum.source)});
    }
    return catalogue;
}

}  // namespace

const Catalogue& built_in_catalogue() {
    static const Catalogue catalogue = make_catalogue();
    return catalogue;
}

std::span<const PortLoss> port_losses() {
    static const std::array<PortLoss, 4> losses = {
        PortLoss{"entrance-flush",
                 "a pipe end flush with the wall of a vessel, sharp-edged (the default)",
                 {0.5, 0.04, 0.57},
                 "Crane TP-410 0.5, other authors 0.50 to 0.57; well rounded 0.04"},
        PortLoss{
            "exit", "a pipe end into a vessel, submerged or free (the default)", {1.0, 1.0, 1.0}, "the whole velocity head is lost: Borda-Carnot"},
        PortLoss{
            "entrance-projecting", "a pipe end standing into the water", {0.78, 0.5, 1.0}, "Crane TP-410 0.78, other authors 0.5 to 0.7, Hooper 1.0"},
        PortLoss{"entrance-rounded", "a bell mouth, radius a tenth of the bore", {0.09, 0.04, 0.2}, "Crane TP-410 0.09, other authors 0.05 to 0.2"},
    };
    return losses;
}

const PipeSize* find_size(const PipeSeries& series, std::string_view name) {
    const auto same = std::ranges::find(series.sizes, name, &PipeSize::name);
    if (same != series.sizes.end()) {
        return &*same;
    }
    const std::string wanted = without_spaces(name);
    const auto found = std::ranges::find_if(series.sizes, [&](const PipeSize& size) { return without_spaces(size.name) == wanted; });
    return found == series.sizes.end() ? nullptr : &*found;
}

const PipeSeries& plain_plastic() {
    static const PipeSeries series = {
        "", "smooth plastic pipe", "handbook values", {1.5e-6, 1.5e-6, 7e-6}, {150.0, 140.0, 155.0}, {0.010, 0.009, 0.011}, {}};
    return series;
}

}  // namespace ebb::netfiles
