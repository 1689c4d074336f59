// Uses the installed library as any other project would.
#include "solver/version.h"

#include <cstdio>
#include <cstring>

int main() {
    std::printf("Ebbwright %s\n", ebb::kVersion);
    return std::strlen(ebb::kVersion) > 0 ? 0 : 1;
}
