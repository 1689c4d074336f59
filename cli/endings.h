#pragma once
// What is done when the program is ended from outside: files that are not whole are taken away first.
//
// A signal handler can reach nothing but globals, and may call next to nothing: here stands the list of temporary files that it takes away.

#include <string>

namespace ebb::cli {

/// Before anything else: standard input, output and error that were closed are opened on nothing, so that no file of ours is taken for one of
/// them; a reader that goes away and a file that may not grow further become answers of write(); ended by SIGTERM, SIGHUP or SIGINT the
/// program takes its temporary files away, unless whoever started it wants the signal ignored.
void prepare_for_endings();

/// From here on an end from outside takes away the file of this name; until forget_unfinished() of the same.
void note_unfinished(const std::string& file);
void forget_unfinished(const std::string& file);

/// Takes the temporary files away and ends the program by this signal. May be called in a handler.
void end_by(int signal);

}  // namespace ebb::cli
