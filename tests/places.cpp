#include "places.hpp"

namespace pedalbench::test {

std::string source_folder() {
    return PEDALBENCH_SOURCE;
}

std::string command_path() {
    return PEDALBENCH_COMMAND;
}

std::string mpi_command_path() {
#ifdef PEDALBENCH_MPI_COMMAND
    return PEDALBENCH_MPI_COMMAND;
#else
    return {};
#endif
}

} // namespace pedalbench::test
