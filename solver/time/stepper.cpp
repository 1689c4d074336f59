#include "solver/time/stepper.h"

#include <cvode/cvode.h>
#include <nvector/nvector_serial.h>
#include <sundials/sundials_linearsolver.h>
#include <sundials/sundials_matrix.h>

#include <algorithm>
#include <cassert>
#include <cmath>
#include <limits>

namespace ebb::time {

namespace {

constexpr int kMostFailures = 40;          ///< of the error test or of Newton's convergence in one step
constexpr double kLongestStep_s = 3600.0;  ///< nobody looks away from a farm for longer

}  // namespace

struct Stepper::Impl {
    Equation equation;
    SUNContext context = nullptr;
    N_Vector state = nullptr, absolute = nullptr;
    SUNMatrix matrix = nullptr;
    SUNLinearSolver linear = nullptr;
    void* memory = nullptr;
    double time_s = 0.0;
    std::vector<int> crossed;
    std::int64_t steps = 0;
    bool begun = false;

    static std::span<double> as_span(N_Vector vector) { return {N_VGetArrayPointer(vector), static_cast<std::size_t>(N_VGetLength(vector))}; }

    // what CVODE calls; 1 asks it for a shorter step
    static int rates(double t, N_Vector y, N_Vector rate, void* self) {
        auto* impl = static_cast<Impl*>(self);
        return impl->equation.rates(t, as_span(y), as_span(rate)) ? 0 : 1;
    }
    static int prepare(double /*t*/, N_Vector y, N_Vector /*rate*/, SUNMatrix /*matrix*/, booleantype keep, booleantype* fresh, double gamma,
                       void* self, N_Vector /*a*/, N_Vector /*b*/, N_Vector /*c*/) {
        auto* impl = static_cast<Impl*>(self);
        *fresh = keep == SUNFALSE ? SUNTRUE : SUNFALSE;
        return impl->equation.prepare(as_span(y), gamma, keep != SUNFALSE) ? 0 : 1;
    }
    static int marks(double t, N_Vector y, double* mark, void* self) {
        auto* impl = static_cast<Impl*>(self);
        return impl->equation.marks(t, as_span(y), {mark, impl->equation.mark_count}) ? 0 : 1;
    }
    // the matrix and its solver are the equation's own; CVODE only passes them round
    static SUNMatrix_ID matrix_kind(SUNMatrix /*matrix*/) { return SUNMATRIX_CUSTOM; }
    static SUNLinearSolver_Type solver_type(SUNLinearSolver /*linear*/) { return SUNLINEARSOLVER_DIRECT; }
    static SUNLinearSolver_ID solver_kind(SUNLinearSolver /*linear*/) { return SUNLINEARSOLVER_CUSTOM; }
    static int solve(SUNLinearSolver linear, SUNMatrix /*matrix*/, N_Vector x, N_Vector b, double /*tolerance*/) {
        static_cast<Impl*>(linear->content)->equation.solve(as_span(b), as_span(x));
        return 0;
    }
    static void say_nothing(int /*code*/, const char* /*module*/, const char* /*function*/, char* /*text*/, void* /*data*/) {}

    ~Impl() {
        CVodeFree(&memory);
        if (linear != nullptr) SUNLinSolFreeEmpty(linear);
        if (matrix != nullptr) SUNMatFreeEmpty(matrix);
        if (state != nullptr) N_VDestroy(state);
        if (absolute != nullptr) N_VDestroy(absolute);
        SUNContext_Free(&context);
    }
};

Stepper::Stepper(Equation equation, double relative, std::span<const double> absolute) : impl_(std::make_unique<Impl>()) {
    Impl& impl = *impl_;
    impl.equation = std::move(equation);
    const auto size = static_cast<sunindextype>(impl.equation.size);
    SUNContext_Create(nullptr, &impl.context);
    impl.state = N_VNew_Serial(size, impl.context);
    impl.absolute = N_VNew_Serial(size, impl.context);
    std::copy(absolute.begin(), absolute.end(), Impl::as_span(impl.absolute).begin());
    N_VConst(0.0, impl.state);
    impl.matrix = SUNMatNewEmpty(impl.context);
    impl.matrix->ops->getid = &Impl::matrix_kind;
    impl.linear = SUNLinSolNewEmpty(impl.context);
    impl.linear->content = &impl;
    impl.linear->ops->gettype = &Impl::solver_type;
    impl.linear->ops->getid = &Impl::solver_kind;
    impl.linear->ops->solve = &Impl::solve;
    impl.memory = CVodeCreate(CV_BDF, impl.context);
    CVodeSetErrHandlerFn(impl.memory, &Impl::say_nothing, nullptr);
    CVodeSetUserData(impl.memory, &impl);
    CVodeInit(impl.memory, &Impl::rates, 0.0, impl.state);
    CVodeSVtolerances(impl.memory, relative, impl.absolute);
    CVodeSetLinearSolver(impl.memory, impl.linear, impl.matrix);
    CVodeSetLinSysFn(impl.memory, &Impl::prepare);
    CVodeSetMaxErrTestFails(impl.memory, kMostFailures);
    CVodeSetMaxConvFails(impl.memory, kMostFailures);
    CVodeSetMaxStep(impl.memory, kLongestStep_s);
    // Slopes of the last step, not of fifty steps ago: an old slope that is far too steep (of a spill, of a hole near its last drop) makes each
    // correction of Newton's too small, which passes for convergence. New ones cost a tenth of a network solve.
    CVodeSetLSetupFrequency(impl.memory, 1);
    CVodeSetJacEvalFrequency(impl.memory, 1);
    CVodeSetNoInactiveRootWarn(impl.memory);
    if (impl.equation.mark_count > 0) CVodeRootInit(impl.memory, static_cast<int>(impl.equation.mark_count), &Impl::marks);
    impl.crossed.assign(impl.equation.mark_count, 0);
}

Stepper::~Stepper() = default;

void Stepper::restart(double t_s, std::span<const double> state) {
    Impl& impl = *impl_;
    assert(state.size() == impl.equation.size);
    std::copy(state.begin(), state.end(), Impl::as_span(impl.state).begin());
    CVodeReInit(impl.memory, t_s, impl.state);
    impl.time_s = t_s;
    impl.begun = false;
}

Stepped Stepper::step(double stop_s) {
    Impl& impl = *impl_;
    if (std::isfinite(stop_s)) {
        // a remainder that the clock cannot tell from nothing is nothing
        if (stop_s - impl.time_s <= 4.0 * std::numeric_limits<double>::epsilon() * std::abs(stop_s)) return Stepped::stop;
        CVodeSetStopTime(impl.memory, stop_s);
    }
    const int flag = CVode(impl.memory, std::isfinite(stop_s) ? stop_s : impl.time_s + kLongestStep_s, impl.state, &impl.time_s, CV_ONE_STEP);
    ++impl.steps;
    if (flag < 0) return Stepped::failed;
    if (flag == CV_ROOT_RETURN) {
        CVodeGetRootInfo(impl.memory, impl.crossed.data());
        return Stepped::mark;
    }
    return flag == CV_TSTOP_RETURN ? Stepped::stop : Stepped::step;
}

double Stepper::time_s() const { return impl_->time_s; }
std::span<const double> Stepper::state() const { return Impl::as_span(impl_->state); }
const std::vector<int>& Stepper::crossed() const { return impl_->crossed; }
std::int64_t Stepper::steps() const { return impl_->steps; }

bool Stepper::inside(double t_s, std::span<double> out) const {
    N_Vector vector = N_VMake_Serial(static_cast<sunindextype>(out.size()), out.data(), impl_->context);
    const bool found = CVodeGetDky(impl_->memory, t_s, 0, vector) == CV_SUCCESS;
    N_VDestroy(vector);
    return found;
}

}  // namespace ebb::time
