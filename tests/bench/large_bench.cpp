// Large networks, from the file to the JSON result: the time of every stage and the peak of memory, and how the time grows with the size.
//
//     build/tests/bench_large_bench write farms 1000000 big.xml [settled]     a layout file
//     build/tests/bench_large_bench stages farms 1000000 [settled]            one size, stage by stage
//     build/tests/bench_large_bench growth [GREATEST_NUMBER_OF_PIPES]         time per pipe from 100 pipes on, and the fitted exponents
//
// The stages call the functions the program calls, one after the other. The clock, that of the processor, stands here: the solver knows none.

#include <sys/resource.h>
#include <unistd.h>

#include <algorithm>
#include <cmath>
#include <cstdio>
#include <cstdlib>
#include <ctime>
#include <filesystem>
#include <fstream>
#include <string>
#include <string_view>
#include <vector>

#include "cli/findings.h"
#include "cli/session.h"
#include "cli/views/view.h"
#include "netfiles/reader.h"
#include "solver/layout/validate.h"
#include "solver/settle/farm.h"
#include "solver/settle/model.h"
#include "tests/bench/large_layouts.h"

namespace {

using namespace ebb;
/// Time of the processor: what runs beside this does not count. Nothing here runs on more than one core.
struct Clock {
    using time_point = double;
    static double now() {
        timespec spent{};
        clock_gettime(CLOCK_PROCESS_CPUTIME_ID, &spent);
        return static_cast<double>(spent.tv_sec) + 1e-9 * static_cast<double>(spent.tv_nsec);
    }
};

double seconds_since(Clock::time_point begin) { return Clock::now() - begin; }

double peak_mb() {
    rusage usage{};
    getrusage(RUSAGE_SELF, &usage);
    return static_cast<double>(usage.ru_maxrss) / 1024.0;
}

struct Stages {
    std::vector<std::string> names;
    std::vector<double> seconds, peak;
    Clock::time_point begin = Clock::now();

    void done(const char* name) {
        names.emplace_back(name);
        seconds.push_back(seconds_since(begin));
        peak.push_back(peak_mb());
        begin = Clock::now();
    }
    double total() const {
        double sum = 0.0;
        for (const double s : seconds) sum += s;
        return sum;
    }
};

struct Run {
    Stages stages;
    std::size_t pipes = 0;
    int newton_steps = 0, newton_steps_total = 0, network_solves = 0, fallbacks = 0;
    double algebra_s = 0.0;  ///< one numeric factorisation and one solve of the matrix of the answer
    double entries_per_node = 0.0;
    std::int64_t factorisations = 0, rounds = 0;  ///< of that solve: of the matrix, and of conjugate gradients with an earlier factor
    double newton_s = 0.0;                        ///< the network solve at given levels alone
    bool solved = false;
    double worst_flow_m3_s = 0.0, worst_head_m = 0.0;
};

[[noreturn]] void fail(const std::string& why) {
    std::fprintf(stderr, "%s\n", why.c_str());
    std::exit(1);
}

/// One numeric factorisation and one solve of the heads' matrix as the last solve left it: the best of some.
double time_of_algebra(network::Factor factor) {
    std::vector<double> rhs(static_cast<std::size_t>(factor.size()), 1.0);
    double best = 1e9;
    for (int i = 0; i < 3; ++i) {
        const auto begin = Clock::now();
        if (!factor.factorise(true) && !factor.factorise(false)) fail("the matrix of the answer does not factorise");
        factor.solve(rhs);
        best = std::min(best, seconds_since(begin));
    }
    return best;
}

Run run_stages(const std::string& file, const std::string& result_file, bool algebra) {
    Run run;
    Stages& stages = run.stages;
    netfiles::ReadResult read = netfiles::read_layout(file);
    if (!read.good()) fail(netfiles::show(read.problems[0], read.files));
    stages.done("read, parse, validate");
    run.pipes = read.layout.pipes.size();
    const cli::Request request;
    cli::Output output(result_file);
    const cli::Subject subject = cli::subject_of(request, read, 1);
    read.files.clear();
    const layout::Conditions conditions = layout::conditions_of(read.layout, 0);
    const settle::Start start = settle::start_of(read.layout);
    stages.done("conditions");
    settle::Model model(network::compile(read.layout, network::LabelCurve::central));
    stages.done("compile");
    const bool at_start = read.layout.arrangements[0].at_start_levels || read.layout.vessels.empty();
    settle::LevelTolerances tolerances;
    tolerances.network.head_m = settle::Options{}.head_tolerance_m;
    tolerances.network.flow_share = settle::Options{}.flow_tolerance;
    tolerances.network.greatest_steps = settle::Options{}.greatest_steps;
    settle::Solved solved = settle::solve_model(model, read.layout, conditions, at_start, start, tolerances);
    stages.done("analyse and solve");
    model.solver.look_at(solved.settings, solved.levels.point);
    settle::Answer answer;
    settle::fill_answer(model, read.layout, conditions, solved, answer);
    stages.done("fill the answer");
    settle::verify(read.layout, conditions, answer);
    stages.done("verify");
    settle::judge(read.layout, conditions, answer);
    answer.arrangement = 0;
    answer.name = read.layout.arrangements[0].name;
    stages.done("judge");
    {
        const auto view = cli::make_flows_json(subject, output);
        view->begin();
        view->show(answer, cli::findings(read.layout, answer, subject.speech));
        view->end();
        output.finish();
    }
    stages.done("write JSON");
    run.solved = settle::solved(answer.state);
    run.newton_steps = answer.counts.newton_steps;
    run.newton_steps_total = answer.counts.newton_steps_total;
    run.network_solves = answer.counts.network_solves;
    run.fallbacks = answer.counts.fallbacks;
    run.worst_flow_m3_s = answer.worst_flow_imbalance_m3_s;
    run.worst_head_m = answer.worst_head_error_m;
    if (algebra && at_start) {
        network::Point point = model.solver.cold_point(start.level_m);
        const std::int64_t factorisations = model.solver.factor_of_levels(false).factorisations();
        const std::int64_t rounds = model.solver.factor_of_levels(false).rounds();
        const auto begin = Clock::now();
        model.solver.solve(solved.settings, {}, tolerances.network, false, point);
        run.newton_s = seconds_since(begin);
        const network::Factor& factor = model.solver.factor_of_levels(false);
        run.factorisations = factor.factorisations() - factorisations;
        run.rounds = factor.rounds() - rounds;
        run.entries_per_node = static_cast<double>(factor.factor_entries()) / std::max(1, factor.size());
        run.algebra_s = time_of_algebra(factor);
    }
    return run;
}

struct Scratch {
    std::filesystem::path folder = std::filesystem::temp_directory_path() / ("ebb_large_" + std::to_string(std::rand()) + std::to_string(getpid()));
    Scratch() { std::filesystem::create_directory(folder); }
    ~Scratch() { std::filesystem::remove_all(folder); }
};

void write(const std::string& file, const std::string& text) {
    std::ofstream stream(file, std::ios::binary);
    stream << text;
}

Run run_of(bench::Family family, std::size_t pipes, bool at_start_levels) {
    const Scratch scratch;
    const std::string file = (scratch.folder / "large.xml").string();
    write(file, bench::large_layout(family, pipes, at_start_levels));
    Run run = run_stages(file, (scratch.folder / "large.json").string(), true);
    if (!run.solved) fail("no solution was found");
    return run;
}

void print_stages(const Run& run) {
    const double per_pipe = 1e9 / static_cast<double>(run.pipes);
    std::printf("%-24s %10s %12s %14s\n", "stage", "time", "per pipe", "peak of memory");
    for (std::size_t i = 0; i < run.stages.names.size(); ++i)
        std::printf("%-24s %8.3f s %9.0f ns %11.0f MB\n", run.stages.names[i].c_str(), run.stages.seconds[i], run.stages.seconds[i] * per_pipe,
                    run.stages.peak[i]);
    std::printf("%-24s %8.3f s %9.0f ns\n\n", "all", run.stages.total(), run.stages.total() * per_pipe);
    std::printf("pipes %zu, Newton steps %d (in all %d in %d network solves, %d fallbacks)\n", run.pipes, run.newton_steps, run.newton_steps_total,
                run.network_solves, run.fallbacks);
    std::printf("checked: flows balance to %.1e m3/s, heads to %.1e m\n", run.worst_flow_m3_s, run.worst_head_m);
    if (run.newton_s > 0.0)
        std::printf("network solve %.3f s; one factorisation and solve %.4f s (%.2f entries per node); ratio to Newton steps of it %.2f; "
                    "%lld factorisations, %lld rounds with an earlier one\n",
                    run.newton_s, run.algebra_s, run.entries_per_node, run.newton_s / (run.newton_steps * run.algebra_s),
                    static_cast<long long>(run.factorisations), static_cast<long long>(run.rounds));
}

/// Slope of log time over log size by least squares.
double exponent(const std::vector<double>& sizes, const std::vector<double>& times) {
    double n = 0, sx = 0, sy = 0, sxx = 0, sxy = 0;
    for (std::size_t i = 0; i < sizes.size(); ++i) {
        const double x = std::log(sizes[i]), y = std::log(times[i]);
        n += 1, sx += x, sy += y, sxx += x * x, sxy += x * y;
    }
    return (n * sxy - sx * sy) / (n * sxx - sx * sx);
}

void growth(std::size_t greatest) {
    struct Row {
        const char* name;
        bench::Family family;
        bool at_start;
    };
    for (const Row& row : {Row{"trees", bench::Family::trees, true}, Row{"grids", bench::Family::grids, true},
                           Row{"farms, levels=start", bench::Family::farms, true}, Row{"farms, settled", bench::Family::farms, false}}) {
        std::vector<double> sizes, whole, solve;
        std::printf("%s\n%10s %14s %14s %8s %16s\n", row.name, "pipes", "all, per pipe", "solve", "steps", "entries per node");
        for (std::size_t pipes = 100; pipes <= greatest; pipes *= 10) {
            Run run = run_of(row.family, pipes, row.at_start);
            for (std::size_t again = 100'000 / pipes; again > 0; again /= 4) {  // small ones are over in no time: the best of some
                Run other = run_of(row.family, pipes, row.at_start);
                if (other.stages.total() < run.stages.total()) run = std::move(other);
            }
            const auto n = static_cast<double>(run.pipes);
            std::printf("%10zu %11.0f ns %11.0f ns %8d %16.2f\n", run.pipes, 1e9 * run.stages.total() / n, 1e9 * run.stages.seconds[3] / n,
                        run.newton_steps_total, run.entries_per_node);
            std::fflush(stdout);
            sizes.push_back(n);
            whole.push_back(run.stages.total());
            solve.push_back(run.stages.seconds[3]);
        }
        if (sizes.size() < 2) continue;
        std::printf("   exponent: all %.2f, analyse and solve %.2f\n", exponent(sizes, whole), exponent(sizes, solve));
        for (auto* list : {&sizes, &whole, &solve}) list->erase(list->begin());  // the smallest is mostly what any network costs
        if (sizes.size() > 1)
            std::printf("   without the smallest: all %.2f, analyse and solve %.2f\n\n", exponent(sizes, whole), exponent(sizes, solve));
    }
}

}  // namespace

int main(int argc, char** argv) {
    const std::vector<std::string_view> words(argv + 1, argv + argc);
    const auto family = [&] {
        for (const bench::Family f : bench::kFamilies)
            if (words.size() > 1 && words[1] == bench::name_of(f)) return f;
        fail("the family is trees, grids or farms");
    };
    const bool settled = !words.empty() && words.back() == "settled";
    if (words.size() >= 4 && words[0] == "write") {
        write(std::string(words[3]), bench::large_layout(family(), std::stoul(std::string(words[2])), !settled));
    } else if (words.size() >= 3 && words[0] == "stages") {
        print_stages(run_of(family(), std::stoul(std::string(words[2])), !settled));
    } else if (!words.empty() && words[0] == "growth") {
        growth(words.size() > 1 ? std::stoul(std::string(words[1])) : 1'000'000);
    } else {
        fail("write FAMILY PIPES FILE [settled] | stages FAMILY PIPES [settled] | growth [GREATEST]");
    }
}
