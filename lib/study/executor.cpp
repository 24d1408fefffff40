#include "study/executor.hpp"

#include <algorithm>
#include <atomic>
#include <exception>
#include <mutex>
#include <thread>
#include <vector>

namespace pedalbench::study {

void InTurn::run(std::size_t n, const std::function<void(std::size_t)>& job) {
    for (std::size_t i = 0; i < n; ++i)
        job(i);
}

Threads::Threads(unsigned count)
    : count_(count > 0 ? count : std::max(1U, std::thread::hardware_concurrency())) {}

void Threads::run(std::size_t n, const std::function<void(std::size_t)>& job) {
    std::atomic<std::size_t> next{0};
    std::mutex mutex;
    std::exception_ptr wrong;
    std::size_t wrong_job = n;
    // Jobs are begun in the order of their numbers, so that every job below one that threw is
    // begun.
    const auto work = [&] {
        for (std::size_t i; (i = next++) < n;) {
            try {
                job(i);
            } catch (...) {
                const std::lock_guard lock(mutex);
                if (i < wrong_job) wrong = std::current_exception(), wrong_job = i;
                next = n;
            }
        }
    };
    std::vector<std::jthread> threads;
    for (std::size_t k = 1; k < std::min<std::size_t>(count_, n); ++k)
        threads.emplace_back(work);
    work();
    threads.clear();
    if (wrong) std::rethrow_exception(wrong);
}

} // namespace pedalbench::study
