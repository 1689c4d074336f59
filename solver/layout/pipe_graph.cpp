// The graph of full pipes, for questions that need no solve: what can water reach through open valves?

#include <algorithm>

#include "solver/layout/doubting.h"

namespace ebb::layout {

PipeGraph::PipeGraph(const Layout& layout) : tees_(layout.tees.size()), filters_(layout.filters.size()), pumps_(layout.pumps.size()) {
    const auto enter = [this](const Ref& ref, std::int32_t pipe) {
        const auto index = static_cast<std::size_t>(ref.index);
        if (ref.kind == Kind::tee) {
            tees_[index].push_back(pipe);
        } else if (ref.kind == Kind::filter) {
            filters_[index].push_back(pipe);
        } else if (ref.kind == Kind::pump) {
            pumps_[index].push_back(pipe);
        }
    };
    for (std::size_t i = 0; i < layout.pipes.size(); ++i) {
        enter(layout.pipes[i].from.ref, static_cast<std::int32_t>(i));
        enter(layout.pipes[i].to.ref, static_cast<std::int32_t>(i));
    }
}

const std::vector<std::int32_t>& PipeGraph::at(const Ref& ref) const {
    const auto index = static_cast<std::size_t>(ref.index);
    switch (ref.kind) {
        case Kind::tee: return tees_[index];
        case Kind::filter: return filters_[index];
        case Kind::pump: return pumps_[index];
        default: return nothing_;
    }
}

}  // namespace ebb::layout
