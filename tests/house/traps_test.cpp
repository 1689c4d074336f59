// The traps of floating_point_traps.cpp are set, in threads too: a test that would divide by zero does not get away with it.

#include <doctest/doctest.h>

#include <cfenv>

#if defined(__GLIBC__) && defined(__x86_64__) && defined(__GNUC__) && !defined(__clang__)
#include <signal.h>
#include <sys/wait.h>
#include <unistd.h>

#include <cmath>
#include <limits>
#include <thread>

namespace {

double divide(double a, double b) {
    volatile double above = a, below = b;
    volatile double quotient = above / below;  // is wanted, or it would be left out
    return quotient;
}

/// The signal a child process dies of when it does `what`; 0: it ends as it should.
int signal_of(void (*what)()) {
    const pid_t child = fork();
    if (child == 0) {
        signal(SIGABRT, SIG_DFL);
        close(STDERR_FILENO);
        what();
        _exit(0);
    }
    int status = 0;
    REQUIRE(child > 0);
    REQUIRE(waitpid(child, &status, 0) == child);
    return WIFSIGNALED(status) ? WTERMSIG(status) : 0;
}

}  // namespace

TEST_CASE("what makes a NaN, and dividing by zero, stop a test") {
    CHECK(fegetexcept() == (FE_INVALID | FE_DIVBYZERO));
    CHECK(signal_of([] { divide(1.0, 2.0); }) == 0);
    CHECK(signal_of([] { divide(0.0, 0.0); }) == SIGABRT);
    CHECK(signal_of([] { divide(1.0, 0.0); }) == SIGABRT);
    CHECK(signal_of([] { divide(HUGE_VAL, HUGE_VAL); }) == SIGABRT);
    CHECK(signal_of([] { std::thread([] { divide(1.0, 0.0); }).join(); }) == SIGABRT);
}

TEST_CASE("comparing with what is not known is let go, and only that") {
    volatile double unknown = std::numeric_limits<double>::quiet_NaN();
    CHECK_FALSE(unknown < 1.0);
    CHECK_FALSE(unknown >= 1.0);
    CHECK(fegetexcept() == (FE_INVALID | FE_DIVBYZERO));
    CHECK(signal_of([] {
              volatile double not_said = std::numeric_limits<double>::quiet_NaN();
              divide(not_said < 1.0 ? 1.0 : 2.0, 0.0);
          }) == SIGABRT);
}
#endif
