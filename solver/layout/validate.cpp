#include "solver/layout/validate.h"

#include "solver/layout/checks.h"

namespace ebb::layout {

std::vector<Problem> validate(Layout& layout) {
    Checks checks(layout);
    if (layout.vessels.empty() && layout.ponds.empty() && layout.supplies.empty()) {
        checks.add({"nothing-there", layout.name, "the layout holds no vessel, pond or supply", "add the tanks, beds and sumps of the farm"},
                   {0, 1, 1});
    }
    if (layout.arrangements.empty()) {
        Arrangement drawn;
        drawn.name = "as drawn";
        layout.arrangements.push_back(std::move(drawn));
    }
    checks.enter_labels();
    check_vessels(checks);
    check_pipes(checks);
    const Joints joints = joints_of(layout);
    check_pumps(checks, joints);
    check_devices(checks, joints);
    check_overflows(checks, joints);
    check_arrangements(checks);
    check_routines(checks);
    check_choices(checks);
    check_economy(checks);
    check_taking(checks);
    check_plus_minus(checks);
    return std::move(checks.problems);
}

}  // namespace ebb::layout
