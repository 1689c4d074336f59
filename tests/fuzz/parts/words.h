#pragma once
// The words of the language, from the reader's own table, so that no list of them can go stale: what mutations may put into a text.

#include <string>
#include <vector>

namespace ebb::fuzz {

std::vector<std::string> words_of_the_language();

}  // namespace ebb::fuzz
