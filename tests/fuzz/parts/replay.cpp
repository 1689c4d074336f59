// A main for a fuzz target that any compiler builds: feeds it files, and, where asked, changed copies of them.
//
//   replay_<target> [-copies=N] [-seconds=N] [-seed=N] [-limit=N] FILE_OR_FOLDER...
//
// Every file is given to the target as it stands. Then follow so many changed copies, the same ones on every machine, and more of them for so many
// seconds: bytes flipped, cut, repeated, put in from another file, values exchanged between quotes, words of the language, and sheer noise. -limit is
// how long a copy may get, in bytes. When the target stops the program, or has not come back within a minute, the input it was given is left in the
// file failing-<target> in the current folder. This is no match for the coverage that libFuzzer is led by; it is for machines without clang, and for
// the few seconds of every change.

#include <fcntl.h>
#include <unistd.h>

#include <algorithm>
#include <charconv>
#include <chrono>
#include <csignal>
#include <cstdint>
#include <cstdio>
#include <cstdlib>
#include <filesystem>
#include <fstream>
#include <iterator>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include "tests/fuzz/parts/words.h"
#include "tests/property/random_farm.h"

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size);

namespace {

using Input = std::vector<std::uint8_t>;
namespace fs = std::filesystem;

constexpr unsigned kPatience_s = 60;
const Input* under_way = nullptr;
std::string failing_name;

/// Only calls that are allowed in a handler of signals.
extern "C" void keep_input(int signal) {
    if (under_way != nullptr) {
        const int file = ::open(failing_name.c_str(), O_WRONLY | O_CREAT | O_TRUNC, 0644);
        if (file >= 0) {
            [[maybe_unused]] const auto written = ::write(file, under_way->data(), under_way->size());
            ::close(file);
        }
        const std::string_view words = signal == SIGALRM ? "\nno answer within a minute; the input is in " : "\nstopped; the input is in ";
        [[maybe_unused]] auto told = ::write(STDERR_FILENO, words.data(), words.size());
        told = ::write(STDERR_FILENO, failing_name.data(), failing_name.size());
        told = ::write(STDERR_FILENO, "\n", 1);
    }
    std::signal(signal, SIG_DFL);
    std::raise(signal);
}

void give(const Input& input) {
    under_way = &input;
    ::alarm(kPatience_s);
    LLVMFuzzerTestOneInput(input.data(), input.size());
    ::alarm(0);
    under_way = nullptr;
}

Input read_file(const fs::path& path) {
    std::ifstream stream(path, std::ios::binary);
    if (!stream) {
        std::fprintf(stderr, "%s cannot be read\n", path.c_str());
        std::exit(2);
    }
    return {std::istreambuf_iterator<char>(stream), std::istreambuf_iterator<char>()};
}

/// The files named and those below the folders named, in an order that does not depend on the machine.
std::vector<Input> read_all(const std::vector<std::string>& names) {
    std::vector<fs::path> paths;
    for (const std::string& name : names) {
        if (!fs::is_directory(name)) {
            paths.emplace_back(name);
            continue;
        }
        for (const auto& entry : fs::recursive_directory_iterator(name))
            if (entry.is_regular_file()) paths.push_back(entry.path());
    }
    std::sort(paths.begin(), paths.end());
    std::vector<Input> inputs;
    for (const fs::path& path : paths) inputs.push_back(read_file(path));
    return inputs;
}

class Changes {
public:
    Changes(const std::vector<Input>& inputs, std::uint64_t seed, std::size_t limit)
        : inputs_(&inputs), random_(seed), limit_(limit), words_(ebb::fuzz::words_of_the_language()) {}

    Input next() {
        Input input = inputs_->empty() || random_.chance(0.05) ? noise() : one_of(*inputs_);
        if (input.size() > limit_) input.resize(limit_);
        for (int i = random_.chance(0.5) ? 1 : 1 << random_.integer(0, 4); i > 0; --i) change(input);
        if (input.size() > limit_) input.resize(limit_);
        return input;
    }

private:
    template <class List>
    const typename List::value_type& one_of(const List& list) {
        return list[below(list.size())];
    }
    std::size_t below(std::size_t count) { return static_cast<std::size_t>(random_.next() % std::max<std::size_t>(count, 1)); }
    std::uint8_t any_byte() { return static_cast<std::uint8_t>(random_.next() >> 56U); }
    Input noise() {
        Input input(below(std::min<std::size_t>(limit_, 300)) + 1);
        for (auto& byte : input) byte = any_byte();
        return input;
    }
    /// A piece of the input: where it begins and ends.
    std::pair<std::ptrdiff_t, std::ptrdiff_t> piece(const Input& input) {
        const std::size_t begin = below(input.size()), length = below(std::min<std::size_t>(input.size() - begin, 64)) + 1;
        return {static_cast<std::ptrdiff_t>(begin), static_cast<std::ptrdiff_t>(std::min(begin + length, input.size()))};
    }
    /// What stands between two quotes somewhere in the input; false when nothing does.
    bool between_quotes(const Input& input, std::pair<std::ptrdiff_t, std::ptrdiff_t>& value) {
        const auto mark = [&](auto from) { return std::find(from, input.end(), static_cast<std::uint8_t>('"')); };
        auto first = mark(input.begin() + static_cast<std::ptrdiff_t>(below(input.size() + 1)));
        if (first == input.end()) return false;
        if (first != input.begin() && *(first - 1) != '=') first = mark(first + 1);  // was the closing one
        if (first == input.end()) return false;
        const auto last = mark(first + 1);
        value = {first + 1 - input.begin(), last - input.begin()};
        return last != input.end();
    }
    void exchange_values(Input& input) {
        if (inputs_->empty()) return;
        const Input& other = random_.chance(0.7) ? input : one_of(*inputs_);
        std::pair<std::ptrdiff_t, std::ptrdiff_t> here, there;
        if (!between_quotes(input, here) || !between_quotes(other, there)) return;
        const Input value(other.begin() + there.first, other.begin() + there.second);
        input.erase(input.begin() + here.first, input.begin() + here.second);
        input.insert(input.begin() + here.first, value.begin(), value.end());
    }
    void put_in(Input& input, const Input& what) {
        input.insert(input.begin() + static_cast<std::ptrdiff_t>(below(input.size() + 1)), what.begin(), what.end());
    }

    void change(Input& input) {
        if (input.empty()) input.push_back(any_byte());
        const auto [begin, end] = piece(input);
        switch (random_.integer(0, 10)) {
            case 0: input[below(input.size())] = any_byte(); break;
            case 1: input[below(input.size())] ^= static_cast<std::uint8_t>(1U << below(8)); break;
            case 2: input.erase(input.begin() + begin, input.begin() + end); break;
            case 3: put_in(input, Input(input.begin() + begin, input.begin() + end)); break;
            case 4: put_in(input, {any_byte()}); break;
            case 5: {
                const std::string& word = one_of(words_);
                put_in(input, Input(word.begin(), word.end()));
                break;
            }
            case 6: {
                if (inputs_->empty()) break;
                const Input& other = one_of(*inputs_);
                if (other.empty()) break;
                const auto [first, last] = piece(other);
                put_in(input, Input(other.begin() + first, other.begin() + last));
                break;
            }
            case 7: {
                const std::uint8_t same = random_.chance(0.5) ? 0 : random_.chance(0.5) ? 255 : any_byte();
                std::fill(input.begin() + begin, input.begin() + std::min(begin + 2, end), same);
                break;
            }
            default: exchange_values(input); break;
        }
    }

    const std::vector<Input>* inputs_;
    ebb::test::Random random_;
    std::size_t limit_;
    std::vector<std::string> words_;
};

/// The number behind `name` when the argument begins with it.
bool says(std::string_view argument, std::string_view name, double& value) {
    if (!argument.starts_with(name)) return false;
    const auto [end, error] = std::from_chars(argument.data() + name.size(), argument.data() + argument.size(), value);
    if (error != std::errc() || end != argument.data() + argument.size()) {
        std::fprintf(stderr, "%s wants a number\n", std::string(name).c_str());
        std::exit(2);
    }
    return true;
}

}  // namespace

int main(int count, char** arguments) {
    double copies = 0.0, seconds = 0.0, seed = 1.0, limit = 12000.0;
    std::vector<std::string> names;
    for (int i = 1; i < count; ++i)
        if (const std::string_view argument = arguments[i]; !says(argument, "-copies=", copies) && !says(argument, "-seconds=", seconds) &&
                                                            !says(argument, "-seed=", seed) && !says(argument, "-limit=", limit))
            names.emplace_back(argument);
    failing_name = "failing-" + fs::path(arguments[0]).filename().string();
    for (const int signal : {SIGABRT, SIGSEGV, SIGFPE, SIGBUS, SIGILL, SIGALRM}) std::signal(signal, keep_input);

    const std::vector<Input> inputs = read_all(names);
    for (const Input& input : inputs) give(input);
    std::printf("%zu inputs\n", inputs.size());

    Changes changes(inputs, static_cast<std::uint64_t>(seed), static_cast<std::size_t>(limit));
    std::uint64_t changed = 0;
    for (; static_cast<double>(changed) < copies; ++changed) give(changes.next());
    const auto until = std::chrono::steady_clock::now() + std::chrono::duration<double>(seconds);
    for (; std::chrono::steady_clock::now() < until; ++changed) give(changes.next());
    if (changed > 0) std::printf("%llu changed copies\n", static_cast<unsigned long long>(changed));
    return inputs.empty() && changed == 0 ? 2 : 0;
}
