// PETSc SNES (Newton with line search, or full steps) with a direct solve on the plain equations, exact Jacobian at every step.
//     peers_petsc NETWORK FOLDER SECONDS
// Its best chance: KLU in both of its orders, UMFPACK and SuperLU; pattern and symbolic factorisation are kept from solve to solve. (PETSc's own
// LU refuses a matrix with places missing on the diagonal.)

#include <petscsnes.h>

#include <cstdlib>
#include <cstring>
#include <exception>

#include "plain_equations.h"
#include "stopwatch.h"

namespace {

using peers::Equations;

PetscErrorCode residual(SNES, Vec x, Vec f, void* data) {
    const PetscScalar* at = nullptr;
    PetscScalar* to = nullptr;
    VecGetArrayRead(x, &at);
    VecGetArray(f, &to);
    static_cast<const Equations*>(data)->residual(at, to);
    VecRestoreArray(f, &to);
    VecRestoreArrayRead(x, &at);
    return 0;
}

PetscErrorCode jacobian(SNES, Vec x, Mat, Mat matrix, void* data) {
    const PetscScalar* at = nullptr;
    PetscScalar* values = nullptr;
    VecGetArrayRead(x, &at);
    MatSeqAIJGetArray(matrix, &values);
    static_cast<const Equations*>(data)->put_slopes(at, values);
    MatSeqAIJRestoreArray(matrix, &values);
    VecRestoreArrayRead(x, &at);
    MatAssemblyBegin(matrix, MAT_FINAL_ASSEMBLY);
    MatAssemblyEnd(matrix, MAT_FINAL_ASSEMBLY);
    return 0;
}

struct Way {
    const char *name, *line_search, *package, *order;
};

struct Snes {
    std::vector<PetscInt> start, row;
    std::vector<double> values;
    Vec x = nullptr, f = nullptr;
    Mat matrix = nullptr;
    SNES snes = nullptr;

    Snes(const Equations& equations, const Way& way)
        : start(equations.column_start().begin(), equations.column_start().end()), row(equations.row().begin(), equations.row().end()),
          values(equations.pattern_values()) {
        const PetscInt size = equations.size();
        VecCreateSeq(PETSC_COMM_SELF, size, &x);
        VecDuplicate(x, &f);
        MatCreateSeqAIJWithArrays(PETSC_COMM_SELF, size, size, start.data(), row.data(), values.data(), &matrix);
        SNESCreate(PETSC_COMM_SELF, &snes);
        void* data = const_cast<Equations*>(&equations);
        SNESSetFunction(snes, f, residual, data);
        SNESSetJacobian(snes, matrix, matrix, jacobian, data);
        SNESSetType(snes, SNESNEWTONLS);
        SNESSetTolerances(snes, 1e-9, 0.0, 0.0, 200, 100000);
        SNESLineSearch search = nullptr;
        SNESGetLineSearch(snes, &search);
        SNESLineSearchSetType(search, way.line_search);
        KSP krylov = nullptr;
        PC factor = nullptr;
        SNESGetKSP(snes, &krylov);
        KSPSetType(krylov, KSPPREONLY);
        KSPGetPC(krylov, &factor);
        PCSetType(factor, PCLU);
        PCFactorSetMatSolverType(factor, way.package);
        if (way.order != nullptr) PetscOptionsSetValue(nullptr, "-mat_klu_ordering", way.order);
        SNESSetFromOptions(snes);
    }
    Snes(const Snes&) = delete;
    Snes& operator=(const Snes&) = delete;
    ~Snes() {
        SNESDestroy(&snes);
        MatDestroy(&matrix);
        VecDestroy(&f);
        VecDestroy(&x);
    }

    bool solve(const std::vector<double>& from) {
        PetscScalar* to = nullptr;
        VecGetArray(x, &to);
        std::memcpy(to, from.data(), from.size() * sizeof(double));
        VecRestoreArray(x, &to);
        SNESSolve(snes, nullptr, x);
        SNESConvergedReason reason = SNES_CONVERGED_ITERATING;
        SNESGetConvergedReason(snes, &reason);
        return reason > 0;
    }
};

void run(const std::string& folder, const std::string& name, double budget_s, const Equations& equations, const Way& way) {
    const std::vector<double> start = equations.start();
    bool fine = false;
    const peers::Timing first = peers::timed([&] { fine = Snes(equations, way).solve(start); }, 0.3 * budget_s);
    Snes solver(equations, way);
    fine = solver.solve(start);
    const peers::Timing again = peers::timed([&] { fine = solver.solve(start) && fine; }, budget_s);
    PetscInt steps = 0;
    SNESGetIterationNumber(solver.snes, &steps);
    const PetscScalar* x = nullptr;
    VecGetArrayRead(solver.x, &x);
    std::vector<double> solution(x, x + start.size());
    VecRestoreArrayRead(solver.x, &x);
    for (int l = 0; l < equations.elements(); ++l) solution[static_cast<std::size_t>(l)] /= peers::kLitres;
    peers::tell(folder, name, "PETSc SNES", way.name, fine, steps, first.least_s, again, solution);
}

}  // namespace

int main(int count, char** arguments) try {
    if (count != 4) return 2;
    int no_arguments = 1;
    if (PetscInitialize(&no_arguments, &arguments, nullptr, nullptr) != 0) return 1;
    const std::string name = arguments[1], folder = arguments[2];
    {
        const Equations equations(peers::read(folder + "/" + name + ".network"));
        const Way ways[] = {{"full steps KLU AMD", SNESLINESEARCHBASIC, MATSOLVERKLU, "AMD"},
                            {"full steps KLU COLAMD", SNESLINESEARCHBASIC, MATSOLVERKLU, "COLAMD"},
                            {"line search KLU AMD", SNESLINESEARCHBT, MATSOLVERKLU, "AMD"},
                            {"full steps UMFPACK", SNESLINESEARCHBASIC, MATSOLVERUMFPACK, nullptr},
                            {"full steps SuperLU", SNESLINESEARCHBASIC, MATSOLVERSUPERLU, nullptr}};
        // on large networks COLAMD and the line search only cost more time than the same way without them
        for (const Way& way : ways)
            if (equations.elements() <= 20000 || (std::strstr(way.name, "COLAMD") == nullptr && std::strstr(way.name, "line") == nullptr))
                run(folder, name, std::atof(arguments[3]), equations, way);
    }
    PetscFinalize();
    return 0;
} catch (const std::exception& error) {
    std::fprintf(stderr, "%s\n", error.what());
    return 1;
}
