#include "solver/choose/margins.h"

#include <algorithm>
#include <cmath>

namespace ebb::choose {

double margin_of(const settle::Target& target) {
    constexpr double kLeastScale_m = 1.0;
    if (target.quantity == "pressure_m") return std::isnan(target.got) ? -1.0 : (target.got - target.wanted) / std::max(target.wanted, kLeastScale_m);
    if (target.at_most && target.got == 0.0) return std::numeric_limits<double>::infinity();  // a vessel that keeps no water changes it at once
    if (target.at_most) return std::isnan(target.got) ? -1.0 : target.wanted / target.got - 1.0;
    return std::isnan(target.got) ? -1.0 : target.got / target.wanted - 1.0;
}

std::int32_t worst_target(const settle::Answer& answer) {
    std::int32_t worst = -1;
    double least = std::numeric_limits<double>::infinity();
    for (std::size_t t = 0; t < answer.targets.size(); ++t) {
        if (!answer.targets[t].asked) continue;
        const double margin = margin_of(answer.targets[t]);
        if (worst >= 0 && !(margin < least)) continue;
        worst = static_cast<std::int32_t>(t);
        least = margin;
    }
    return worst;
}

double worst_margin(const settle::Answer& answer) {
    if (!settle::solved(answer.state)) return -std::numeric_limits<double>::infinity();
    const std::int32_t worst = worst_target(answer);
    return worst < 0 ? std::numeric_limits<double>::infinity() : margin_of(answer.targets[static_cast<std::size_t>(worst)]);
}

}  // namespace ebb::choose
