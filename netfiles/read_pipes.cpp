// Pipes and drains: ends, size or bore, fittings and valves; and what comes from series and fitting kinds.

#include <algorithm>
#include <optional>
#include <utility>

#include "netfiles/everyday.h"
#include "netfiles/reading.h"
#include "netfiles/words.h"
#include "solver/physics/valves.h"

namespace ebb::netfiles {
namespace {

using layout::said;

void read_fitting(Reading& reading, const Element& element, layout::Pipe& pipe) {
    layout::Fitting fitting;
    fitting.kind = element.text("kind");
    fitting.count = element.count("count", 1);
    fitting.loss = element.number("loss");
    if (fitting.kind.empty() && !said(fitting.loss) && element.sound()) {
        element.complain("fitting-unknown", "a fitting of " + pipe.id + " has neither a kind nor a loss", "write kind=\"elbow-90\" or loss=\"0.9\"");
    }
    if (!fitting.kind.empty() && !said(fitting.loss)) {
        reading.pending_fittings.push_back(
            {static_cast<std::int32_t>(reading.layout.pipes.size()), static_cast<std::int32_t>(pipe.fittings.size()), element.place()});
    }
    if (!element.sound() && !said(fitting.loss)) {
        fitting.loss = 0.0;
    }
    pipe.fittings.push_back(std::move(fitting));
}

void read_valve(Reading& reading, const Element& element, layout::Pipe& pipe) {
    layout::Valve valve;
    valve.id = element.text("id");
    valve.place = element.place();
    valve.kind = physics::valve_kind_named(element.text("kind")).value_or(physics::ValveKind::ball);
    valve.loss = element.number("loss");
    valve.pipe = static_cast<std::int32_t>(reading.layout.pipes.size());
    if (!said(valve.loss)) {
        const physics::StatedCoefficient standard = physics::default_valve_loss(valve.kind);
        valve.loss = standard.value;
        if (element.sound()) {
            const std::string kind(physics::valve_kind_name(valve.kind));
            reading.assumptions.note(
                {"loss of a valve fully open", kind, {standard.value, standard.low, standard.high}, "", std::string(standard.source)}, valve.id);
        }
    }
    pipe.valves.push_back(static_cast<std::int32_t>(reading.layout.valves.size()));
    reading.layout.valves.push_back(std::move(valve));
}

/// Size and series, or a bore: exactly one of the two ways.
void check_size(const Element& element, const layout::Pipe& pipe) {
    if (!element.sound()) {
        return;
    }
    const std::string what = std::string(element.name()) + " " + pipe.id;
    const bool by_size = !pipe.size.empty() || !pipe.series.empty();
    if (said(pipe.bore_m) && by_size) {
        element.complain("bore-twice", what + " has both a bore and a " + (pipe.size.empty() ? "series" : "size"),
                         "keep bore=, or size= with series=", "bore");
    } else if (!said(pipe.bore_m) && !by_size) {
        element.complain("bore-missing", what + " has no bore", "write bore=\"27.2 mm\", or size=\"32 mm\" series=\"pvc-pn16\"");
    } else if (pipe.choose && !by_size) {
        element.complain("choose-from-what", "the size of " + what + " is to be chosen, but it has only a bore",
                         "write series= with a series whose sizes have prices, and size= in place of bore=; or leave choose= out", "choose");
    } else if (by_size && pipe.series.empty()) {
        element.complain("series-missing", what + " has a size but no series",
                         "write series=\"pvc-pn16\" (or another: `ebbwright catalogue` lists them), or bore= instead", "size");
    } else if (by_size && pipe.size.empty() && !pipe.choose) {
        element.complain("size-missing", what + " has a series but no size", "write size=\"32 mm\", or bore= instead", "series");
    }
}

class SeriesIndex {
public:
    explicit SeriesIndex(const Catalogue& own) {
        for (const PipeSeries& series : own.series) {
            by_name_.emplace(series.name, &series);
            names_.push_back(series.name);
        }
        for (const PipeSeries& series : built_in_catalogue().series) {
            by_name_.emplace(series.name, &series);
            names_.push_back(series.name);
        }
    }
    const PipeSeries* find(const std::string& name) const {
        const auto found = by_name_.find(name);
        return found == by_name_.end() ? nullptr : found->second;
    }
    const std::vector<std::string_view>& names() const { return names_; }

private:
    std::unordered_map<std::string_view, const PipeSeries*> by_name_;
    std::vector<std::string_view> names_;
};

void unknown_series(Reading& reading, const layout::Pipe& pipe, const SeriesIndex& index) {
    const std::string everyday = everyday_series(pipe.series);
    const std::string near = index.find(everyday) != nullptr ? everyday : nearest_word(pipe.series, index.names());
    reading.context.report.add({"unknown-series", pipe.id, "the pipe series \"" + printable(pipe.series) + "\" of " + pipe.id + " is not known",
                                near.empty() ? "known are " + join_words(index.names(), "and") : "did you mean \"" + near + "\"?", "series"},
                               refine_place(reading.context.documents.files, pipe.place, "series"));
}

void unknown_size(Reading& reading, const layout::Pipe& pipe, const PipeSeries& series) {
    std::vector<std::string_view> names;
    for (const PipeSize& size : series.sizes) {
        names.push_back(size.name);
    }
    const PipeSize* meant = find_size(series, everyday_size(pipe.size));
    reading.context.report.add({"unknown-size", pipe.id, "the series " + series.name + " has no size \"" + printable(pipe.size) + "\"",
                                (meant == nullptr ? "" : "did you mean \"" + meant->name + "\"? ") + ("it has " + join_words(names, "and")), "size"},
                               refine_place(reading.context.documents.files, pipe.place, "size"));
}

/// A size to write of in advice: the one drawn, else one in the middle of the series.
std::string size_of_series(const layout::Pipe& pipe, const PipeSeries& series) {
    const PipeSize* drawn = find_size(series, pipe.size);
    return drawn != nullptr ? drawn->name : (series.sizes.empty() ? pipe.size : series.sizes[series.sizes.size() / 2].name);
}

/// The priced sizes of a series, by rising bore, entered once into the layout; -1 (after a complaint) when none has a price.
std::int32_t sold_series(Reading& reading, const layout::Pipe& pipe, const PipeSeries& series) {
    std::vector<layout::SoldSeries>& sold = reading.layout.sold_series;
    const auto known = std::ranges::find(sold, series.name, &layout::SoldSeries::name);
    if (known != sold.end()) {
        return static_cast<std::int32_t>(known - sold.begin());
    }
    layout::SoldSeries entry{series.name, {}};
    for (const PipeSize& size : series.sizes) {
        if (said(size.price_per_metre) && said(size.bore_m)) {
            entry.sizes.push_back({size.name, size.bore_m, size.wall_m, size.price_per_metre});
        }
    }
    if (entry.sizes.empty()) {
        reading.context.report.add(
            {"series-unpriced", pipe.id,
             "the size of " + pipe.id + " is to be chosen, but no size of the series " + printable(series.name) + " has a price",
             "write <prices series=\"" + printable(series.name) + "\"><size name=\"" + printable(size_of_series(pipe, series)) +
                 "\" price-per-metre=\"3.20\"/></prices> with a line for each size that is sold, or leave choose= out",
             "choose"},
            refine_place(reading.context.documents.files, pipe.place, "choose"));
        return -1;
    }
    std::ranges::stable_sort(entry.sizes, {}, &layout::SoldSize::bore_m);
    sold.push_back(std::move(entry));
    return static_cast<std::int32_t>(sold.size()) - 1;
}

/// What a pipe may become; one drawn without a size begins as the largest. False after a complaint.
bool apply_choice(Reading& reading, layout::Pipe& pipe, const PipeSeries& series) {
    pipe.sold_series = sold_series(reading, pipe, series);
    if (pipe.sold_series < 0) {
        return false;
    }
    const std::vector<layout::SoldSize>& sizes = reading.layout.sold_series[static_cast<std::size_t>(pipe.sold_series)].sizes;
    if (pipe.size.empty()) {
        pipe.size = sizes.back().name;
        reading.assumptions.note({"bore of a pipe to choose",
                                  series.name,
                                  {sizes.back().bore_m, sizes.front().bore_m, sizes.back().bore_m},
                                  "m",
                                  "no size is drawn: the largest that is sold stands until one is chosen"},
                                 pipe.id);
    }
    return true;
}

/// Bore and wall of the series; nullptr (after a complaint) when there is no such series or size. `plain_plastic` without a series.
const PipeSeries* apply_series(Reading& reading, layout::Pipe& pipe, const SeriesIndex& index) {
    if (pipe.series.empty() || (pipe.size.empty() && (!pipe.choose || said(pipe.bore_m)))) {
        return &plain_plastic();
    }
    const PipeSeries* series = index.find(pipe.series);
    if (series == nullptr) {
        unknown_series(reading, pipe, index);
        return nullptr;
    }
    if (pipe.choose && !said(pipe.bore_m) && !apply_choice(reading, pipe, *series)) {
        return nullptr;
    }
    const PipeSize* size = find_size(*series, pipe.size);
    if (size == nullptr) {
        unknown_size(reading, pipe, *series);
        return nullptr;
    }
    if (!said(pipe.bore_m)) {
        pipe.bore_m = size->bore_m;
        pipe.wall_m = size->wall_m;
        pipe.price_per_metre = size->price_per_metre;
        if (size->bore_low_m < size->bore_m) {
            reading.assumptions.note({"bore", series->name + ", " + size->name, {size->bore_m, size->bore_low_m, size->bore_m}, "m", series->source},
                                     pipe.id);
        }
    }
    return series;
}

void apply_wall(Reading& reading, layout::Pipe& pipe, const PipeSeries& series) {
    const std::string of = series.name.empty() ? "plastic pipe" : "series " + series.name;
    const bool hazen = reading.layout.friction == layout::FrictionLaw::hazen_williams;
    if (!said(pipe.roughness_m)) {
        pipe.roughness_m = series.roughness_m.value;
        if (!hazen) {
            reading.assumptions.note({"roughness", of, series.roughness_m, "m", "smooth plastic 0.0015 mm, new pipe up to 0.007 mm: handbook values"},
                                     pipe.id);
        }
    }
    if (!said(pipe.hazen_williams_c)) {
        pipe.hazen_williams_c = series.hazen_williams_c.value;
        if (hazen) {
            reading.assumptions.note({"Hazen-Williams coefficient", of, series.hazen_williams_c, "", "plastic pipe 140 to 155: handbook values"},
                                     pipe.id);
        }
    }
    if (pipe.gravity && !said(pipe.manning_n)) {
        pipe.manning_n = series.manning_n.value;
        reading.assumptions.note(
            {"Manning coefficient of part-full flow", of, series.manning_n, "", "smooth plastic 0.009 to 0.011: sewer design tables"}, pipe.id);
    }
}

class FittingIndex {
public:
    explicit FittingIndex(const Catalogue& own) {
        for (const Catalogue* catalogue : {&own, &built_in_catalogue()}) {
            for (const FittingKind& kind : catalogue->fittings) {
                by_name_.emplace(kind.name, &kind);
                names_.push_back(kind.name);
            }
        }
    }
    const FittingKind* find(const std::string& name) const {
        const auto found = by_name_.find(name);
        return found == by_name_.end() ? nullptr : found->second;
    }
    const std::vector<std::string_view>& names() const { return names_; }

private:
    std::unordered_map<std::string_view, const FittingKind*> by_name_;
    std::vector<std::string_view> names_;
};

void resolve_fittings(Reading& reading) {
    const FittingIndex index(reading.catalogue);
    for (const PendingFitting& pending : reading.pending_fittings) {
        layout::Pipe& pipe = reading.layout.pipes[static_cast<std::size_t>(pending.pipe)];
        layout::Fitting& fitting = pipe.fittings[static_cast<std::size_t>(pending.fitting)];
        const FittingKind* kind = index.find(fitting.kind);
        if (kind != nullptr) {
            fitting.loss = kind->loss.value;
            reading.assumptions.note({"loss of a fitting", kind->name, kind->loss, "", kind->source}, pipe.id, fitting.count);
            continue;
        }
        fitting.loss = 0.0;
        std::string advice(everyday_fitting(fitting.kind));
        if (advice.empty()) {
            const std::string near = nearest_word(fitting.kind, index.names());
            advice =
                near.empty() ? "known are " + join_words(index.names(), "and") + "; or write loss=\"0.9\" instead" : "did you mean \"" + near + "\"?";
        }
        reading.context.report.add(
            {"unknown-fitting", pipe.id, "the fitting kind \"" + printable(fitting.kind) + "\" is not known", std::move(advice), "kind"},
            refine_place(reading.context.documents.files, pending.place, "kind"));
    }
}

}  // namespace

void read_pipe(Reading& reading, const Element& element) {
    layout::Pipe pipe;
    pipe.gravity = element.name() == "drain";
    pipe.id = element.text("id");
    pipe.place = element.place();
    pipe.from.id = element.text("from");
    pipe.from.height_m = element.number("from-height");
    pipe.to.id = element.text("to");
    pipe.to.height_m = element.number("to-height");
    pipe.length_m = element.number("length");
    pipe.bore_m = element.number("bore");
    pipe.size = element.text("size");
    pipe.series = element.text("series");
    pipe.roughness_m = element.number("roughness");
    pipe.hazen_williams_c = element.number("hazen-williams");
    pipe.manning_n = element.number("manning");
    pipe.entry_loss = element.number("entry-loss");
    pipe.exit_loss = element.number("exit-loss");
    pipe.air_hole_m = element.number("air-hole");
    if (const double trapped_air_m = element.number("trapped-air"); layout::said(trapped_air_m)) pipe.trapped_air_m = trapped_air_m;
    const std::string choose = element.text("choose");
    pipe.choose = !choose.empty() && choose != "no";
    if (pipe.choose) {
        pipe.choose_group = choose == "yes" ? pipe.id : choose;
    }
    check_size(element, pipe);
    for (const pugi::xml_node& child : element.children()) {
        const Element part(reading.context, child, element.file(), *find_element(child.name()),
                           std::string_view(child.name()) == "valve" ? "" : element.about());
        (void)part.children();
        if (part.name() == "valve") {
            read_valve(reading, part, pipe);
        } else {
            read_fitting(reading, part, pipe);
        }
        reading.note_unsound(part);
    }
    reading.layout.pipes.push_back(std::move(pipe));
}

void resolve_pipes(Reading& reading) {
    const SeriesIndex index(reading.catalogue);
    for (layout::Pipe& pipe : reading.layout.pipes) {
        const PipeSeries* series = apply_series(reading, pipe, index);
        if (series == nullptr) {
            reading.unsound_things.insert(pipe.id);
            continue;
        }
        apply_wall(reading, pipe, *series);
    }
    resolve_fittings(reading);
}

}  // namespace ebb::netfiles
