#include "cli/views/costing_json.h"

namespace ebb::cli {

void write_costing(const layout::Layout& layout, const choose::Costing& costing, std::span<const std::int32_t> arrangements, JsonWriter& json) {
    json.new_line();
    json.key("costing");
    json.begin_object();
    json.entry("currency", layout.economy.currency);
    json.entry("price_per_kwh", costing.price_per_kwh);
    json.entry("years", costing.years);
    json.entry("interest", costing.interest);
    json.entry("worth_of_a_year", costing.worth_of_a_year);
    json.entry("assumed_price", costing.assumed_price);
    json.entry("assumed_years", costing.assumed_years);
    json.entry("assumed_hours", costing.assumed_hours);
    json.key("hours_a_year");
    json.begin_array();
    for (const std::int32_t a : arrangements) json.value(costing.hours_a_year[static_cast<std::size_t>(a)]);
    json.end_array();
    json.end_object();
}

}  // namespace ebb::cli
