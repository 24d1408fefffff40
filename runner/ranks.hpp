// The processes of one study under MPI; without it, or not started by mpirun, just this one.
#pragma once

#include <cstddef>

namespace pedalbench::runner {

/// Exists once in a process.
class Ranks {
  public:
    Ranks();
    ~Ranks();
    Ranks(const Ranks&) = delete;
    Ranks& operator=(const Ranks&) = delete;

    std::size_t number() const { return number_; }
    std::size_t size() const { return size_; }
    bool first() const { return number_ == 0; }
    /// Waits for all; the largest of their codes.
    int worst(int code) const;

  private:
    std::size_t number_ = 0, size_ = 1;
    bool started_ = false;
};

} // namespace pedalbench::runner
