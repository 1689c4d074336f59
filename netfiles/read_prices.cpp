// What sizes of a series cost, said apart from the series: the built-in ones have no prices of their own.

#include <algorithm>
#include <map>
#include <utility>

#include "netfiles/everyday.h"
#include "netfiles/reading.h"
#include "netfiles/words.h"

namespace ebb::netfiles {
namespace {

PipeSeries* find_series(std::vector<PipeSeries>& list, const std::string& name) {
    const auto found = std::ranges::find(list, name, &PipeSeries::name);
    return found == list.end() ? nullptr : &*found;
}

/// The series of the files, where a built-in one is copied into when it gets prices; nullptr after a complaint.
PipeSeries* series_to_price(Reading& reading, const PendingPrices& prices) {
    std::vector<PipeSeries>& own = reading.catalogue.series;
    if (PipeSeries* series = find_series(own, prices.series); series != nullptr) {
        return series;
    }
    std::vector<std::string_view> names;
    for (const PipeSeries& series : own) {
        names.push_back(series.name);
    }
    const std::string everyday = everyday_series(prices.series);
    std::string near;
    for (const PipeSeries& series : built_in_catalogue().series) {
        if (series.name == prices.series) {
            return &own.emplace_back(series);
        }
        names.push_back(series.name);
        near = series.name == everyday ? everyday : near;
    }
    near = near.empty() ? nearest_word(prices.series, names) : near;
    reading.context.report.add({"unknown-series", "", "the pipe series \"" + printable(prices.series) + "\" that is given prices is not known",
                                near.empty() ? "known are " + join_words(names, "and") : "did you mean \"" + near + "\"?", "series"},
                               refine_place(reading.context.documents.files, prices.place, "series"));
    return nullptr;
}

PipeSize* size_to_price(Reading& reading, PipeSeries& series, const PendingPrices::Size& priced) {
    const auto named = [&](std::string_view name) -> PipeSize* {
        const PipeSize* found = name.empty() ? nullptr : find_size(series, name);
        return found == nullptr ? nullptr : &series.sizes[static_cast<std::size_t>(found - series.sizes.data())];
    };
    if (PipeSize* size = named(priced.name); size != nullptr) {
        return size;
    }
    std::vector<std::string_view> names;
    for (const PipeSize& size : series.sizes) {
        names.push_back(size.name);
    }
    const PipeSize* everyday = named(everyday_size(priced.name));
    const std::string near = everyday != nullptr ? everyday->name : nearest_word(priced.name, names);
    reading.context.report.add({"unknown-size", "", "the series " + printable(series.name) + " has no size \"" + printable(priced.name) + "\"",
                                (near.empty() ? "" : "did you mean \"" + near + "\"? ") + ("it has " + join_words(names, "and")), "name"},
                               refine_place(reading.context.documents.files, priced.place, "name"));
    return nullptr;
}

}  // namespace

void read_prices(Reading& reading, const Element& element) {
    PendingPrices prices{element.text("series"), element.place(), {}};
    for (const pugi::xml_node& child : element.children()) {
        const Element part(reading.context, child, element.file(), *find_element("size", "prices"), prices.series);
        (void)part.children();
        if (part.sound()) {
            prices.sizes.push_back({part.text("name"), part.number("price-per-metre"), part.place()});
        }
    }
    if (element.sound()) {
        reading.pending_prices.push_back(std::move(prices));
    }
}

void resolve_prices(Reading& reading) {
    std::map<std::pair<std::string, std::string>, layout::Place> priced_before;
    for (const PendingPrices& prices : reading.pending_prices) {
        PipeSeries* series = series_to_price(reading, prices);
        if (series == nullptr) {
            continue;
        }
        for (const PendingPrices::Size& priced : prices.sizes) {
            PipeSize* size = size_to_price(reading, *series, priced);
            if (size == nullptr) {
                continue;
            }
            const auto [before, fresh] = priced_before.emplace(std::pair{series->name, size->name}, priced.place);
            if (!fresh || layout::said(size->price_per_metre)) {
                reading.context.report.add(
                    {"price-twice", "", "the size \"" + printable(size->name) + "\" of " + printable(series->name) + " has two prices",
                     "keep one of them", "price-per-metre"},
                    refine_place(reading.context.documents.files, priced.place, "price-per-metre"), fresh ? layout::Place{} : before->second);
                continue;
            }
            size->price_per_metre = priced.price_per_metre;
        }
    }
}

}  // namespace ebb::netfiles
