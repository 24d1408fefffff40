// Where the tests find the project and the command. One small file knows the paths, so that a
// compiler's cache serves every clone.
#pragma once

#include <string>

namespace pedalbench::test {

std::string source_folder();
/// The command line program, to be run as a user would.
std::string command_path();
/// The same with MPI; empty where it is not built.
std::string mpi_command_path();

} // namespace pedalbench::test
