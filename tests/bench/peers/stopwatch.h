#pragma once
// How every peer is timed and how it tells: the shortest and the middle of several runs of the solve alone, and one run with its set-up.

#include <algorithm>
#include <chrono>
#include <cstdio>
#include <fstream>
#include <string>
#include <vector>

namespace peers {

template <class Work>
double seconds(const Work& work) {
    const auto begin = std::chrono::steady_clock::now();
    work();
    return std::chrono::duration<double>(std::chrono::steady_clock::now() - begin).count();
}

struct Timing {
    double least_s = 0.0, middle_s = 0.0;
    int runs = 0;
};

/// Runs for about `budget_s`, at least three times unless that takes ten times as long.
template <class Work>
Timing timed(const Work& work, double budget_s) {
    std::vector<double> took;
    double spent = 0.0;
    while (took.empty() || (took.size() < 3 && spent < 10.0 * budget_s) || (spent < budget_s && took.size() < 2000)) {
        took.push_back(seconds(work));
        spent += took.back();
    }
    std::sort(took.begin(), took.end());
    return {took.front(), took[took.size() / 2], static_cast<int>(took.size())};
}

/// One line for the script, and the solution (flows in m3/s, then heads in m) as raw doubles for the judge.
inline void tell(const std::string& folder, const std::string& network, const std::string& peer, const std::string& way, bool converged, long steps,
                 double with_setup_s, const Timing& again, const std::vector<double>& solution) {
    std::string file = peer + "-" + way;
    std::replace(file.begin(), file.end(), ' ', '_');
    file = folder + "/" + network + "." + file + ".solution";
    std::ofstream to(file, std::ios::binary);
    to.write(reinterpret_cast<const char*>(solution.data()), static_cast<std::streamsize>(solution.size() * sizeof(double)));
    std::printf("result\t%s\t%s\t%d\t%ld\t%.9g\t%.9g\t%.9g\t%d\t%s\n", peer.c_str(), way.c_str(), converged ? 1 : 0, steps, with_setup_s,
                again.least_s, again.middle_s, again.runs, file.c_str());
    std::fflush(stdout);
}

}  // namespace peers
