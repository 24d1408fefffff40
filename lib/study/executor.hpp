// Who does the work of a study: many runs that know nothing of each other.
#pragma once

#include <cstddef>
#include <functional>

namespace pedalbench::study {

/// Does jobs 0 to n - 1, each once, in any order and perhaps several at a time. What a job leaves
/// behind may depend on its number alone: then results are the same, whoever does the work.
class Executor {
  public:
    virtual ~Executor() = default;
    /// Returns when all are done. When jobs throw, the exception of the lowest number comes out,
    /// and jobs that nobody has begun by then are left.
    virtual void run(std::size_t n, const std::function<void(std::size_t)>& job) = 0;
};

/// One after another, here.
class InTurn final : public Executor {
  public:
    void run(std::size_t n, const std::function<void(std::size_t)>& job) override;
};

/// On this many threads of this machine; 0: as many as it has cores.
class Threads final : public Executor {
  public:
    explicit Threads(unsigned count = 0);
    void run(std::size_t n, const std::function<void(std::size_t)>& job) override;
    unsigned count() const { return count_; }

  private:
    unsigned count_;
};

} // namespace pedalbench::study
