// Ebbwright's network solve of one network of the comparison, at given levels, cold; and the plain form of that network for the peers.
//     peers_ours NETWORK FOLDER SECONDS

#include <cstdlib>
#include <exception>
#include <memory>

#include "networks.h"
#include "solver/network/newton.h"
#include "stopwatch.h"

int main(int count, char** arguments) try {
    if (count != 4) return 2;
    const std::string name = arguments[1], folder = arguments[2];
    const peers::Case c = peers::made(name);
    peers::write(c.plain, folder + "/" + name + ".network");
    std::printf("network\t%zu\t%d\n", c.plain.elements.size(), c.plain.nodes);

    using namespace ebb;
    network::Point point;
    network::Outcome outcome;
    std::unique_ptr<network::Solver> solver;
    network::Point start;
    const auto set_up = [&] {
        solver = std::make_unique<network::Solver>(c.network);
        start = solver->cold_point(c.level_m);
    };
    const auto solve = [&] {
        point = start;
        outcome = solver->solve(c.settings, {}, {}, false, point);
    };
    const peers::Timing first = peers::timed(
        [&] {
            set_up();
            solve();
        },
        0.3 * std::atof(arguments[3]));
    const peers::Timing again = peers::timed(solve, std::atof(arguments[3]));
    std::vector<double> solution = point.flow_m3_s;
    solution.insert(solution.end(), point.head_m.begin(), point.head_m.begin() + c.network.plain_count);
    peers::tell(folder, name, "Ebbwright", "network solve", outcome.converged && outcome.fallbacks == 0, outcome.steps, first.least_s, again,
                solution);
    return 0;
} catch (const std::exception& error) {
    std::fprintf(stderr, "%s\n", error.what());
    return 1;
}
