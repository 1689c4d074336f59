#include "cli/program.h"

int main(int argument_count, char** arguments) { return static_cast<int>(ebb::cli::run_program(argument_count, arguments)); }
