#include "ranks.hpp"

#ifdef PEDALBENCH_MPI

#include <cstdlib>
#include <initializer_list>

#include <mpi.h>

namespace pedalbench::runner {

Ranks::Ranks() {
    // Set by mpirun of Open MPI and by the launchers of PMI (MPICH, Slurm). Without one of them
    // MPI_Init would start a helper process for a plain run.
    bool launched = false;
    for (const char* name : {"OMPI_COMM_WORLD_SIZE", "PMI_SIZE", "PMIX_RANK"})
        launched = launched || std::getenv(name) != nullptr;
    if (!launched) return;
    MPI_Init(nullptr, nullptr);
    started_ = true;
    int number = 0, size = 1;
    MPI_Comm_rank(MPI_COMM_WORLD, &number);
    MPI_Comm_size(MPI_COMM_WORLD, &size);
    number_ = static_cast<std::size_t>(number);
    size_ = static_cast<std::size_t>(size);
}

Ranks::~Ranks() {
    if (started_) MPI_Finalize();
}

int Ranks::worst(int code) const {
    int all = code;
    if (started_) MPI_Allreduce(&code, &all, 1, MPI_INT, MPI_MAX, MPI_COMM_WORLD);
    return all;
}

} // namespace pedalbench::runner

#else

namespace pedalbench::runner {

Ranks::Ranks() = default;
Ranks::~Ranks() = default;

int Ranks::worst(int code) const {
    return code;
}

} // namespace pedalbench::runner

#endif
