#include "solver/network/kinks.h"

#include "solver/network/laws.h"
#include "solver/network/newton_rules.h"

namespace ebb::network {

namespace {

std::size_t at(std::int32_t index) { return static_cast<std::size_t>(index); }

}  // namespace

std::vector<std::vector<Kink>> kinks_of(const Network& network) {
    std::vector<std::vector<Kink>> kinks(at(network.vessel_count));
    const auto add = [&](std::int32_t node, const Kink& kink) {
        if (network.is_vessel(node)) kinks[at(node - network.plain_count)].push_back(kink);
    };
    for (std::size_t l = 0; l < network.links.size(); ++l) {
        const Link& link = network.links[l];
        if (link.at_from.limited) add(link.from, {.lip_of = -1, .elevation_m = link.at_from.leaves_above_m, .scale_m = link.bore_m});
        if (link.at_to.limited) add(link.to, {.lip_of = -1, .elevation_m = link.at_to.leaves_above_m, .scale_m = link.bore_m});
        if (link.law == Law::standpipe) {
            add(link.from, {.lip_of = static_cast<std::int32_t>(l), .elevation_m = 0.0, .scale_m = kLipScale * link.bore_m});
            for (const auto& hole : network.standpipes[at(link.law_index)].holes)
                add(link.from, {.lip_of = -1, .elevation_m = hole.elevation_m, .scale_m = kHoleScale_m});
        }
        if (link.law == Law::siphon)
            add(link.from, {.lip_of = -1, .elevation_m = network.siphons[at(link.law_index)].crest_m, .scale_m = kLipScale * link.bore_m});
        if (link.law == Law::pump && network.pumps[at(link.law_index)].intake_m > kNoPort)
            add(link.from, {.lip_of = -1, .elevation_m = network.pumps[at(link.law_index)].intake_m, .scale_m = kBareBand_m});
    }
    return kinks;
}

}  // namespace ebb::network
