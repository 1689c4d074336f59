// SUNDIALS KINSOL with KLU on the plain equations, exact Jacobian at every step.
//     peers_kinsol NETWORK FOLDER SECONDS
// Its best chance: full Newton steps and line search, both orders that KLU offers. KINSOL has KLU analyse the pattern anew in every call; here the
// analysis of the first call is kept for the later ones (the linear solver's own `initialize` is only let through once), so that they refactorise.

#include <kinsol/kinsol.h>
#include <nvector/nvector_serial.h>
#include <sunlinsol/sunlinsol_klu.h>
#include <sunmatrix/sunmatrix_sparse.h>

#include <cstdlib>
#include <cstring>
#include <exception>

#include "plain_equations.h"
#include "stopwatch.h"

namespace {

using peers::Equations;

struct Problem {
    const Equations* equations = nullptr;
    std::vector<sunindextype> start, row;
};

int residual(N_Vector u, N_Vector f, void* data) {
    static_cast<Problem*>(data)->equations->residual(N_VGetArrayPointer(u), N_VGetArrayPointer(f));
    return 0;
}

int jacobian(N_Vector u, N_Vector /*f*/, SUNMatrix matrix, void* data, N_Vector /*work*/, N_Vector /*more*/) {
    const Problem& problem = *static_cast<Problem*>(data);
    const std::vector<double>& values = problem.equations->pattern_values();
    std::memcpy(SUNSparseMatrix_IndexPointers(matrix), problem.start.data(), problem.start.size() * sizeof(sunindextype));
    std::memcpy(SUNSparseMatrix_IndexValues(matrix), problem.row.data(), problem.row.size() * sizeof(sunindextype));
    std::memcpy(SUNSparseMatrix_Data(matrix), values.data(), values.size() * sizeof(double));
    problem.equations->put_slopes(N_VGetArrayPointer(u), SUNSparseMatrix_Data(matrix));
    return 0;
}

void quiet(int /*code*/, const char* /*module*/, const char* /*function*/, char* /*message*/, void* /*data*/) {}

struct Kinsol {
    SUNContext context = nullptr;
    N_Vector u = nullptr, ones = nullptr;
    SUNMatrix matrix = nullptr;
    SUNLinearSolver linear = nullptr;
    void* memory = nullptr;

    Kinsol(Problem& problem, int order) {
        const auto size = static_cast<sunindextype>(problem.equations->size());
        SUNContext_Create(nullptr, &context);
        u = N_VNew_Serial(size, context);
        ones = N_VNew_Serial(size, context);
        N_VConst(1.0, ones);
        matrix = SUNSparseMatrix(size, size, static_cast<sunindextype>(problem.row.size()), CSC_MAT, context);
        linear = SUNLinSol_KLU(u, matrix, context);
        SUNLinSol_KLUSetOrdering(linear, order);
        memory = KINCreate(context);
        KINInit(memory, residual, u);
        KINSetErrHandlerFn(memory, quiet, nullptr);
        KINSetUserData(memory, &problem);
        KINSetLinearSolver(memory, linear, matrix);
        KINSetJacFn(memory, jacobian);
        KINSetMaxSetupCalls(memory, 1);
        KINSetFuncNormTol(memory, 1e-9);
        KINSetScaledStepTol(memory, 1e-13);
        KINSetMaxNewtonStep(memory, 1e9);
        KINSetNumMaxIters(memory, 200);
    }
    Kinsol(const Kinsol&) = delete;
    Kinsol& operator=(const Kinsol&) = delete;
    ~Kinsol() {
        KINFree(&memory);
        SUNLinSolFree(linear);
        SUNMatDestroy(matrix);
        N_VDestroy(ones);
        N_VDestroy(u);
        SUNContext_Free(&context);
    }

    bool solve(const std::vector<double>& start, int strategy) {
        std::memcpy(N_VGetArrayPointer(u), start.data(), start.size() * sizeof(double));
        const int ended = KINSol(memory, u, strategy, ones, ones);
        linear->ops->initialize = [](SUNLinearSolver) { return 0; };
        return ended == KIN_SUCCESS || ended == KIN_INITIAL_GUESS_OK;
    }
};

void run(const std::string& folder, const std::string& name, double budget_s, Problem& problem, int order, int strategy) {
    const std::vector<double> start = problem.equations->start();
    bool fine = false;
    const peers::Timing first = peers::timed([&] { fine = Kinsol(problem, order).solve(start, strategy); }, 0.3 * budget_s);
    Kinsol solver(problem, order);
    fine = solver.solve(start, strategy);
    const peers::Timing again = peers::timed([&] { fine = solver.solve(start, strategy) && fine; }, budget_s);
    long steps = 0;
    KINGetNumNonlinSolvIters(solver.memory, &steps);
    const double* x = N_VGetArrayPointer(solver.u);
    std::vector<double> solution(x, x + start.size());
    for (int l = 0; l < problem.equations->elements(); ++l) solution[static_cast<std::size_t>(l)] /= peers::kLitres;
    const std::string way = std::string(strategy == KIN_NONE ? "full steps" : "line search") + (order == 0 ? " AMD" : " COLAMD");
    peers::tell(folder, name, "KINSOL with KLU", way, fine, steps, first.least_s, again, solution);
}

}  // namespace

int main(int count, char** arguments) try {
    if (count != 4) return 2;
    const std::string name = arguments[1], folder = arguments[2];
    const Equations equations(peers::read(folder + "/" + name + ".network"));
    Problem problem{&equations, {equations.column_start().begin(), equations.column_start().end()}, {equations.row().begin(), equations.row().end()}};
    // COLAMD's order takes twice the time of AMD's on large networks, and is not waited for there
    for (const int strategy : {KIN_NONE, KIN_LINESEARCH})
        for (const int order : {0, 1})
            if (order == 0 || equations.elements() <= 20000) run(folder, name, std::atof(arguments[3]), problem, order, strategy);
    return 0;
} catch (const std::exception& error) {
    std::fprintf(stderr, "%s\n", error.what());
    return 1;
}
