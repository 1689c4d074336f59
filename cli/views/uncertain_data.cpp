// How sure the figures are, for programs: SI, percentiles behind the names of the figures.

#include "cli/views/csv.h"
#include "cli/views/uncertain.h"
#include "cli/words.h"
#include "solver/survey/row.h"

namespace ebb::cli {
namespace {

using survey::Spread;
using survey::UncertainAnswer;
using survey::Unsure;

const char* word_of(Unsure what) {
    switch (what) {
        case Unsure::pump_head: return "pump-head";
        case Unsure::start_depth: return "start-depth";
        case Unsure::pond_level: return "level";
        case Unsure::roughness: return "roughness";
        case Unsure::hazen_williams: return "hazen-williams";
        case Unsure::bore: return "bore";
        case Unsure::filter_load: return "filter-load";
        case Unsure::losses: break;
    }
    return "losses";
}

const std::string& id_of(const layout::Layout& layout, Unsure what, std::int32_t thing) {
    const auto i = static_cast<std::size_t>(thing);
    switch (what) {
        case Unsure::pump_head: return layout.pumps[i].id;
        case Unsure::start_depth: return layout.vessels[i].id;
        case Unsure::pond_level: return layout.ponds[i].id;
        case Unsure::filter_load: return layout.filters[i].id;
        default: return layout.pipes[i].id;
    }
}

const std::string& about(const layout::Layout& layout, const survey::TargetColumn& target) {
    return target.vessel >= 0 ? layout.vessels[static_cast<std::size_t>(target.vessel)].id : layout.tees[static_cast<std::size_t>(target.tee)].id;
}

void write_causes(JsonWriter& json, const std::string& key, const std::vector<survey::Cause>& causes, bool with_direction) {
    json.key(key);
    json.begin_array();
    for (const survey::Cause& cause : causes) {
        json.begin_object();
        json.entry("unknown", cause.uncertainty);
        json.entry("share", cause.share);
        if (with_direction) {
            json.entry("rises", cause.rises);
        }
        json.end_object();
    }
    json.end_array();
}

void write_percentiles(JsonWriter& json, const std::string& key, const Spread& spread) {
    json.entry(key + "_p5", spread.low);
    json.entry(key + "_p50", spread.middle);
    json.entry(key + "_p95", spread.high);
}

void write_spread(JsonWriter& json, const std::string& key, const Spread& spread) {
    write_percentiles(json, key, spread);
    write_causes(json, key + "_moved_by", spread.causes, true);
}

void write_unknowns(JsonWriter& json, const layout::Layout& layout, const UncertainAnswer& unsure) {
    json.open_list("unknowns");
    for (const survey::Uncertainty& one : unsure.uncertainties) {
        const bool length = one.what == Unsure::start_depth || one.what == Unsure::pond_level;
        json.open_element(word_of(one.what), "what");
        json.entry(length ? "plus_minus_m" : "plus_minus", one.plus_minus);
        json.entry("assumed", one.assumed);
        json.key("of");
        json.begin_array();
        for (const std::int32_t thing : one.things) {
            json.value(id_of(layout, one.what, thing));
        }
        json.end_array();
        json.end_object();
    }
    json.end_array();
}

void write_counts(JsonWriter& json, const UncertainAnswer& unsure) {
    json.entry("samples", unsure.samples);
    json.entry("solved", unsure.solved);
    json.entry("solved_singly", unsure.alone);
    json.entry("spilling", unsure.spills);
    json.entry("intake_bare", unsure.bare);
    json.entry("below_least_depth", unsure.below_least);
    json.entry("below_vapour", unsure.breaks);
    json.entry("under_vacuum", unsure.vacuum);
}

void write_targets(JsonWriter& json, const layout::Layout& layout, const UncertainAnswer& unsure) {
    const std::vector<survey::TargetColumn> columns = survey::targets_of(layout);
    json.open_list("targets");
    for (std::size_t t = 0; t < columns.size(); ++t) {
        settle::Target wish;
        wish.quantity = columns[t].quantity;
        wish.at_most = columns[t].at_most;
        wish.wanted = columns[t].wanted;
        json.open_element(about(layout, columns[t]), "about");
        json.entry("wants", wish_of(wish));
        json.entry("asked", unsure.targets[t].asked);
        json.entry("met", unsure.targets[t].met);
        write_spread(json, "got", unsure.targets[t].got);
        json.end_object();
    }
    json.end_array();
}

class Lines {
public:
    explicit Lines(const std::string& arrangement) : arrangement_(arrangement) {}
    void thing(std::string_view kind, const std::string& id) { begin_ = arrangement_ + ',' + std::string(kind) + ',' + csv_cell(id) + ','; }
    void line(std::string_view quantity, std::string_view unit, double value) {
        text_.append(begin_).append(quantity).append(1, ',').append(unit).append(1, ',').append(csv_number(value)).append(1, '\n');
    }
    void spread(const std::string& quantity, std::string_view unit, const Spread& spread) {
        line(quantity + "-p5", unit, spread.low);
        line(quantity + "-p50", unit, spread.middle);
        line(quantity + "-p95", unit, spread.high);
    }
    std::string text() && { return std::move(text_); }

private:
    const std::string& arrangement_;
    std::string begin_, text_;
};

}  // namespace

void write_uncertain(JsonWriter& json, const Subject& subject, const UncertainAnswer* unsure) {
    json.key("uncertain");
    if (unsure == nullptr) {
        json.value(settle::kUnknown);  // null
        return;
    }
    const layout::Layout& layout = subject.layout;
    json.begin_object();
    write_counts(json, *unsure);
    write_unknowns(json, layout, *unsure);
    json.open_list("vessels");
    for (std::size_t v = 0; v < unsure->vessels.size(); ++v) {
        json.open_element(layout.vessels[v].id);
        write_spread(json, "depth_m", unsure->vessels[v].depth_m);
        write_spread(json, "inflow_m3_s", unsure->vessels[v].inflow_m3_s);
        write_spread(json, "turnover_s", unsure->vessels[v].turnover_s);
        json.end_object();
    }
    json.end_array();
    json.open_list("pumps");
    for (std::size_t p = 0; p < unsure->pumps.size(); ++p) {
        json.open_element(layout.pumps[p].id);
        write_spread(json, "flow_m3_s", unsure->pumps[p].flow_m3_s);
        write_spread(json, "head_m", unsure->pumps[p].head_m);
        write_spread(json, "power_w", unsure->pumps[p].power_w);
        json.end_object();
    }
    json.end_array();
    json.open_list("tees");
    for (std::size_t t = 0; t < unsure->tees.size(); ++t) {
        json.open_element(layout.tees[t].id);
        json.entry("below_vapour", unsure->tees[t].breaks);
        json.entry("under_vacuum", unsure->tees[t].vacuum);
        json.end_object();
    }
    json.end_array();
    json.open_list("pipes");
    for (std::size_t p = 0; p < unsure->pipe_flow_m3_s.size(); ++p) {
        json.open_element(layout.pipes[p].id);
        write_percentiles(json, "flow_m3_s", unsure->pipe_flow_m3_s[p]);
        json.end_object();
    }
    json.end_array();
    write_targets(json, layout, *unsure);
    write_causes(json, "measure", unsure->measure, false);
    json.end_object();
}

std::string uncertain_lines(const layout::Layout& layout, const std::string& arrangement, const UncertainAnswer& unsure) {
    Lines lines(arrangement);
    for (std::size_t v = 0; v < unsure.vessels.size(); ++v) {
        lines.thing(layout::name_of(layout.vessels[v].kind), layout.vessels[v].id);
        lines.spread("depth", "m", unsure.vessels[v].depth_m);
        lines.spread("inflow", "m3/s", unsure.vessels[v].inflow_m3_s);
        lines.spread("turnover", "s", unsure.vessels[v].turnover_s);
    }
    for (std::size_t p = 0; p < unsure.pumps.size(); ++p) {
        lines.thing("pump", layout.pumps[p].id);
        lines.spread("flow", "m3/s", unsure.pumps[p].flow_m3_s);
        lines.spread("head", "m", unsure.pumps[p].head_m);
        lines.spread("power", "W", unsure.pumps[p].power_w);
    }
    for (std::size_t p = 0; p < unsure.pipe_flow_m3_s.size(); ++p) {
        lines.thing(layout.pipes[p].gravity ? "drain" : "pipe", layout.pipes[p].id);
        lines.spread("flow", "m3/s", unsure.pipe_flow_m3_s[p]);
    }
    const std::vector<survey::TargetColumn> columns = survey::targets_of(layout);
    for (std::size_t t = 0; t < columns.size(); ++t) {
        if (unsure.targets[t].asked == 0) continue;
        lines.thing("target", about(layout, columns[t]));
        const double share = static_cast<double>(unsure.targets[t].met) / static_cast<double>(unsure.targets[t].asked);
        lines.line(std::string(columns[t].quantity == std::string_view("turnover_s")    ? "turnover"
                               : columns[t].quantity == std::string_view("inflow_m3_s") ? "inflow"
                                                                                        : "pressure") +
                       "-met-share",
                   "1", share);
    }
    return std::move(lines).text();
}

}  // namespace ebb::cli
