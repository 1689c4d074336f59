#include "solver/survey/switch_table.h"

#include <utility>

namespace ebb::survey {

namespace {

bool same(const network::LinkSetting& a, const network::LinkSetting& b) {
    return a.k_forward == b.k_forward && a.k_reverse == b.k_reverse && a.value == b.value && a.shut == b.shut && a.one_way == b.one_way &&
           a.primed == b.primed && a.runs_to_break == b.runs_to_break && a.resting == b.resting;
}

}  // namespace

SwitchTable::SwitchTable(const network::Network& network, const layout::Layout& layout, const Question& question)
    : network_(&network), layout_(&layout), question_(&question), links_(question.switches.size()), vents_(question.switches.size()),
      entangled_(question.switches.size(), 0) {
    const network::Settings on = settings(0);
    std::vector<std::int32_t> link_of(on.links.size(), -1), vent_of(on.vented.size(), -1);  // the switch that touches it
    const auto note = [&](std::vector<std::int32_t>& owner, std::size_t thing, std::size_t s) {
        if (owner[thing] >= 0) entangled_[s] = entangled_[static_cast<std::size_t>(owner[thing])] = 1;
        owner[thing] = static_cast<std::int32_t>(s);
    };
    for (std::size_t s = 0; s < question.switches.size(); ++s) {
        const network::Settings off = settings(std::uint64_t{1} << s);
        for (std::size_t l = 0; l < on.links.size(); ++l)
            if (!same(on.links[l], off.links[l])) {
                links_[s].push_back({static_cast<std::int32_t>(l), on.links[l], off.links[l]});
                note(link_of, l, s);
            }
        for (std::size_t n = 0; n < on.vented.size(); ++n)
            if (on.vented[n] != off.vented[n]) {
                vents_[s].push_back({static_cast<std::int32_t>(n), on.vented[n] != 0, off.vented[n] != 0});
                note(vent_of, n, s);
            }
    }
    // two valves in one pipe that the arrangement shuts elsewhere change nothing alone: whatever shares a pipe is entangled
    std::vector<std::int32_t> pipe_of(layout.pipes.size(), -1);
    for (std::size_t s = 0; s < question.switches.size(); ++s) {
        const layout::Ref& thing = question.switches[s].thing;
        if (thing.kind == layout::Kind::valve) note(pipe_of, static_cast<std::size_t>(layout.valves[static_cast<std::size_t>(thing.index)].pipe), s);
    }
}

network::Settings SwitchTable::settings(std::uint64_t off) const {
    return network::settings_for(*network_, *layout_, conditions_with(*question_, off), std::vector<std::uint8_t>(network_->siphons.size(), 0));
}

}  // namespace ebb::survey
