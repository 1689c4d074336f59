// Linked into every test program, and into the program itself where EBBWRIGHT_TRAP_FLOATING_POINT asks for it: what makes a NaN (0/0, inf - inf,
// 0 inf, the square root of a negative number, a number too large for the integer it is put into: FE_INVALID) and what divides by zero
// (FE_DIVBYZERO) stops the program where it happens. An answer that comes out right after one of these came out right by luck.
//
// Let go: comparing with a NaN, and the lesser and greater of two numbers. In Ebbwright NaN says "not said" and "not known", and `<` with it is
// false, which is what the code means; g++ makes comparisons that raise FE_INVALID of it, clang does not.
// FE_OVERFLOW is not trapped: infinity is "no bound" here, a product on its way there harms nothing, and that what is answered is finite is
// checked where answers are checked.
//
// With g++ on Linux for x86-64. clang takes it for granted that nobody watches the flags and computes both sides of a branch where that is
// quicker, so that a division guarded in the source is no longer guarded in the program. Valgrind does not trap at all.
#include <cfenv>  // also says whether this is glibc

#if defined(__GLIBC__) && defined(__x86_64__) && defined(__GNUC__) && !defined(__clang__)
#include <signal.h>
#include <ucontext.h>
#include <unistd.h>

#include <cstdio>
#include <cstdlib>

namespace {

constexpr unsigned kAllMasked = 0x1f80, kFlags = 0x3f;  // of the register MXCSR
constexpr greg_t kSingleStep = 0x100;                   // of the register EFLAGS

thread_local unsigned trapped_before = 0;

/// (v)comis, (v)ucomis, (v)cmp, (v)min and (v)max of single and double numbers, in all three ways of writing them.
bool only_compares(const unsigned char* code) {
    while (*code == 0x66 || *code == 0xf2 || *code == 0xf3) ++code;
    unsigned operation = 0;
    if (*code == 0xc5) {
        operation = code[2];
    } else if (*code == 0xc4 && (code[1] & 0x1fU) == 1) {
        operation = code[3];
    } else if (*code == 0x62 && (code[1] & 0x07U) == 1) {
        operation = code[4];
    } else {
        if ((*code & 0xf0U) == 0x40) ++code;
        if (*code != 0x0f) return false;
        operation = code[1];
    }
    return operation == 0x2e || operation == 0x2f || operation == 0xc2 || operation == 0x5d || operation == 0x5f;
}

/// Lets a comparison pass with nothing trapped, one instruction long (after_comparison() ends it); anything else is the end.
void on_exception(int, siginfo_t* what, void* context) {
    mcontext_t& machine = static_cast<ucontext_t*>(context)->uc_mcontext;
    if (what->si_code == FPE_FLTINV && only_compares(static_cast<const unsigned char*>(what->si_addr))) {
        trapped_before = machine.fpregs->mxcsr;
        machine.fpregs->mxcsr = (trapped_before | kAllMasked) & ~kFlags;
        machine.gregs[REG_EFL] |= kSingleStep;
        return;
    }
    char words[160];
    const int length = std::snprintf(words, sizeof words, "floating point: %s at %p; a debugger shows where (handle SIGFPE nostop, break abort)\n",
                                     what->si_code == FPE_FLTINV ? "an invalid operation, which makes a NaN" : "a division by zero", what->si_addr);
    [[maybe_unused]] const auto written = length > 0 ? write(STDERR_FILENO, words, static_cast<std::size_t>(length)) : 0;
    std::abort();  // the test programs tell which test it was
}

void after_comparison(int, siginfo_t*, void* context) {
    mcontext_t& machine = static_cast<ucontext_t*>(context)->uc_mcontext;
    machine.fpregs->mxcsr = trapped_before & ~kFlags;
    machine.gregs[REG_EFL] &= ~kSingleStep;
}

/// Before main, and so before any thread: threads inherit what is trapped from the one that starts them.
[[maybe_unused]] const bool kTrapping = [] {
    struct sigaction action = {};
    action.sa_flags = SA_SIGINFO;
    action.sa_sigaction = on_exception;
    sigaction(SIGFPE, &action, nullptr);
    action.sa_sigaction = after_comparison;
    sigaction(SIGTRAP, &action, nullptr);
    return feenableexcept(FE_INVALID | FE_DIVBYZERO) >= 0;
}();

}  // namespace
#endif
