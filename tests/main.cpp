// The entry point of every test program. It takes the locale of the environment before anything runs, so that the same tests can be
// run where the decimal mark is a comma and the thousands mark a point: no result of Ebbwright may depend on it.
#if defined(__x86_64__) && !defined(__clang__)
#include <csignal>
#undef SIGFPE  // floating_point_traps.cpp has it, and aborts; doctest would put a handler of its own there
#define SIGFPE SIGSYS
#endif
#define DOCTEST_CONFIG_IMPLEMENT
#include <doctest/doctest.h>

#include <clocale>
#include <locale>
#include <stdexcept>

int main(int argc, char** argv) {
    std::setlocale(LC_ALL, "");
    try {
        std::locale::global(std::locale(""));
    } catch (const std::runtime_error&) {
        // The environment names a locale this machine does not have: the classic one stays, as in any other program.
        std::locale::global(std::locale::classic());
    }
    doctest::Context context(argc, argv);
    return context.run();
}
