// Ipopt on the energy minimum: the flows are those that minimise the content of the network (sum of the integrals of h) under the balance of every
// node; the heads are the multipliers of the balances. Exact gradient and Hessian (diagonal), linear constraints told to be linear.
//     peers_ipopt NETWORK FOLDER SECONDS
// Its best chance: full steps (the problem is convex) as well as its line search; the structure is kept from solve to solve.

#include <coin/IpIpoptApplication.hpp>
#include <coin/IpSolveStatistics.hpp>
#include <coin/IpTNLP.hpp>

#include <algorithm>
#include <cstdlib>
#include <exception>

#include "plain_equations.h"
#include "stopwatch.h"

namespace {

using Ipopt::Index;
using Ipopt::Number;
using peers::Equations;

class EnergyMinimum : public Ipopt::TNLP {
public:
    explicit EnergyMinimum(const Equations& equations) : equations_(equations) {
        for (int l = 0; l < equations.elements(); ++l) {
            const auto [from, to] = equations.ends()[static_cast<std::size_t>(l)];
            if (from < equations.nodes()) entries_.push_back({from, l, -1.0});
            if (to < equations.nodes()) entries_.push_back({to, l, 1.0});
        }
    }
    const std::vector<double>& solution() const { return solution_; }

    bool get_nlp_info(Index& n, Index& m, Index& jacobian, Index& hessian, IndexStyleEnum& style) override {
        n = hessian = equations_.elements();
        m = equations_.nodes();
        jacobian = static_cast<Index>(entries_.size());
        style = C_STYLE;
        return true;
    }
    bool get_bounds_info(Index n, Number* x_low, Number* x_high, Index m, Number* g_low, Number* g_high) override {
        std::fill(x_low, x_low + n, -2e19);
        std::fill(x_high, x_high + n, 2e19);
        for (Index i = 0; i < m; ++i) g_low[i] = g_high[i] = equations_.taken_l_s(i);
        return true;
    }
    bool get_starting_point(Index n, bool, Number* x, bool, Number*, Number*, Index m, bool wants_multipliers, Number* multipliers) override {
        const std::vector<double> start = equations_.start();
        std::copy(start.begin(), start.begin() + n, x);
        if (wants_multipliers) std::copy(start.begin() + n, start.end(), multipliers);
        return static_cast<int>(start.size()) == n + m;
    }
    bool eval_f(Index, const Number* x, bool, Number& value) override {
        value = equations_.content(x);
        return true;
    }
    bool eval_grad_f(Index, const Number* x, bool, Number* gradient) override {
        equations_.content_gradient(x, gradient);
        return true;
    }
    bool eval_g(Index, const Number* x, bool, Index m, Number* g) override {
        std::fill(g, g + m, 0.0);
        for (const Entry& entry : entries_) g[entry.node] += entry.sign * x[entry.element];
        return true;
    }
    bool eval_jac_g(Index, const Number*, bool, Index, Index, Index* rows, Index* columns, Number* values) override {
        for (std::size_t i = 0; i < entries_.size(); ++i) {
            if (values != nullptr) {
                values[i] = entries_[i].sign;
            } else {
                rows[i] = entries_[i].node;
                columns[i] = entries_[i].element;
            }
        }
        return true;
    }
    bool eval_h(Index n, const Number* x, bool, Number factor, Index, const Number*, bool, Index, Index* rows, Index* columns,
                Number* values) override {
        for (Index i = 0; i < n; ++i) {
            if (values != nullptr)
                values[i] = factor * equations_.law(static_cast<std::size_t>(i), x[i] / peers::kLitres).slope_m_per_m3_s / peers::kLitres;
            else
                rows[i] = columns[i] = i;
        }
        return true;
    }
    void finalize_solution(Ipopt::SolverReturn, Index n, const Number* x, const Number*, const Number*, Index m, const Number*,
                           const Number* multipliers, Number, const Ipopt::IpoptData*, Ipopt::IpoptCalculatedQuantities*) override {
        solution_.assign(x, x + n);
        for (double& flow : solution_) flow /= peers::kLitres;
        solution_.insert(solution_.end(), multipliers, multipliers + m);
    }

private:
    struct Entry {
        int node, element;
        double sign;
    };
    const Equations& equations_;
    std::vector<Entry> entries_;
    std::vector<double> solution_;
};

Ipopt::SmartPtr<Ipopt::IpoptApplication> application(bool full_steps) {
    Ipopt::SmartPtr<Ipopt::IpoptApplication> solver = new Ipopt::IpoptApplication(false);
    const auto options = solver->Options();
    options->SetIntegerValue("print_level", 0);
    options->SetStringValue("sb", "yes");
    options->SetStringValue("linear_solver", "mumps");
    options->SetStringValue("nlp_scaling_method", "none");
    options->SetStringValue("jac_c_constant", "yes");
    options->SetStringValue("mu_strategy", "adaptive");
    options->SetNumericValue("tol", 1e-9);
    options->SetNumericValue("dual_inf_tol", 1e-9);
    options->SetNumericValue("constr_viol_tol", 1e-9);
    options->SetNumericValue("acceptable_tol", 1e-9);
    options->SetIntegerValue("max_iter", 300);
    if (full_steps) options->SetStringValue("accept_every_trial_step", "yes");
    solver->Initialize("");
    return solver;
}

bool fine(Ipopt::ApplicationReturnStatus status) { return status == Ipopt::Solve_Succeeded || status == Ipopt::Solved_To_Acceptable_Level; }

void run(const std::string& folder, const std::string& name, double budget_s, const Equations& equations, bool full_steps) {
    Ipopt::SmartPtr<EnergyMinimum> problem = new EnergyMinimum(equations);
    Ipopt::SmartPtr<Ipopt::TNLP> task = Ipopt::GetRawPtr(problem);
    bool converged = false;
    Ipopt::SmartPtr<Ipopt::IpoptApplication> solver;
    const peers::Timing first = peers::timed(
        [&] {
            solver = application(full_steps);
            converged = fine(solver->OptimizeTNLP(task));
        },
        0.3 * budget_s);
    solver->Options()->SetStringValue("warm_start_same_structure", "yes");
    const peers::Timing again = peers::timed([&] { converged = fine(solver->ReOptimizeTNLP(task)) && converged; }, budget_s);
    peers::tell(folder, name, "Ipopt", full_steps ? "full steps" : "line search", converged, solver->Statistics()->IterationCount(), first.least_s,
                again, problem->solution());
}

}  // namespace

int main(int count, char** arguments) try {
    if (count != 4) return 2;
    const std::string name = arguments[1], folder = arguments[2];
    const Equations equations(peers::read(folder + "/" + name + ".network"));
    for (const bool full_steps : {true, false})
        if (full_steps || equations.elements() <= 20000) run(folder, name, std::atof(arguments[3]), equations, full_steps);
    return 0;
} catch (const std::exception& error) {
    std::fprintf(stderr, "%s\n", error.what());
    return 1;
}
