#pragma once
// What a fuzz target does when a promise is broken: says which, and stops the program, as a crash would.

#include <cstdio>
#include <cstdlib>
#include <string>
#include <vector>

#include "solver/layout/problems.h"

namespace ebb::fuzz {

[[noreturn]] inline void broken(const std::string& promise) {
    std::fprintf(stderr, "a promise is broken: %s\n", promise.c_str());
    std::abort();
}

inline void must(bool holds, const char* promise) {
    if (!holds) broken(promise);
}

/// Every complaint has a code and a sentence, and can be shown.
inline void must_say_something(const std::vector<layout::Problem>& problems) {
    for (const layout::Problem& problem : problems) {
        must(!problem.code.empty(), "a complaint has a code");
        must(!problem.says.empty(), "a complaint says something");
    }
}

}  // namespace ebb::fuzz
