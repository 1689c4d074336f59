#pragma once
// Where results go: standard output, or a file that appears whole or not at all.
//
// A file is written beside its final place under a temporary name and renamed when everything is in it, so that a reader never
// sees half a result and a failed run leaves the old file as it was. What is not a regular file (a terminal, a pipe, /dev/null)
// is written to directly. Small results stay in memory until the end: then an interrupted run leaves nothing behind at all.

#include <cstddef>
#include <stdexcept>
#include <string>
#include <string_view>

namespace ebb::cli {

/// The reader of our results went away (a closed pipe): no fault of anybody, the program ends without a word.
class OutputClosed : public std::runtime_error {
public:
    OutputClosed() : std::runtime_error("the reader of the output has closed it") {}
};

/// The results cannot be written; what() is a sentence for the user.
class OutputFailed : public std::runtime_error {
public:
    using std::runtime_error::runtime_error;
};

class Output {
public:
    /// `file` empty: standard output. Throws OutputFailed when the file could not be written anyway: better before the work than after.
    explicit Output(std::string file);
    ~Output();
    Output(const Output&) = delete;
    Output& operator=(const Output&) = delete;

    /// Adds to the results. Throws OutputClosed or OutputFailed.
    void write(std::string_view text);

    bool nothing_written() const { return !any_; }

    /// Everything has been written: brings it to its final place. Without it a file is left as it was before.
    void finish();

    /// True when `file` is the same file as the one written to: writing would destroy what was read.
    bool overwrites(const std::string& file) const;

    /// True when both are written to one file, whatever it is called in each: results of one would be lost. Also before that file is there. Two that
    /// go to one terminal or to /dev/null lose nothing.
    bool same_file_as(const Output& other) const;

private:
    void empty_buffer();
    void open_temporary();

    std::string file_;       ///< as the user wrote it; empty for standard output
    std::string final_;      ///< the file itself, links followed
    std::string temporary_;  ///< empty while there is none
    std::string buffer_;
    int descriptor_ = -1;
    bool any_ = false;    ///< something was written, and may have gone out
    bool direct_ = true;  ///< written in place: standard output, devices, pipes
    std::size_t keep_bytes_ = 0;
};

}  // namespace ebb::cli
