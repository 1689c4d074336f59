#include "solver/settle/answer.h"

namespace ebb::settle {

const char* name_of(State state) {
    switch (state) {
        case State::settled: return "settled";
        case State::given_levels: return "given-levels";
        case State::cycles: return "cycles";
        case State::spills_until_dry: return "spills-until-dry";
        case State::no_solution: return "no-solution";
        case State::not_run: break;
    }
    return "not-run";
}

const char* name_of(OverflowRegime regime) {
    switch (regime) {
        case OverflowRegime::weir: return "weir";
        case OverflowRegime::orifice: return "orifice";
        case OverflowRegime::drowned: return "drowned";
        case OverflowRegime::dry: break;
    }
    return "dry";
}

}  // namespace ebb::settle
