// Writes the words of the language as a dictionary for libFuzzer: fuzz_dictionary > words.dict
#include <cstdio>

#include "tests/fuzz/parts/words.h"

int main() {
    for (const std::string& word : ebb::fuzz::words_of_the_language()) {
        std::putchar('"');
        for (const char one : word) {
            const auto byte = static_cast<unsigned char>(one);
            if (byte < 0x20 || byte > 0x7e || one == '"' || one == '\\')
                std::printf("\\x%02x", byte);
            else
                std::putchar(one);
        }
        std::puts("\"");
    }
    return std::fflush(stdout) == 0 ? 0 : 1;
}
