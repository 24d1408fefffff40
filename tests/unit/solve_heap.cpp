// A step touches the heap at construction only.
#include "compare.hpp"
#include "solve_problems.hpp"

#include <cstdlib>

// Counts malloc itself, since Eigen goes past operator new. Only where the C library leaves a
// second door (glibc), and not under a sanitizer, which owns malloc.
#if defined(__has_feature)
#if __has_feature(address_sanitizer) || __has_feature(thread_sanitizer) ||                         \
    __has_feature(memory_sanitizer)
#define PEDALBENCH_SANITIZED
#endif
#endif
#if defined(__GLIBC__) && !defined(__SANITIZE_ADDRESS__) && !defined(__SANITIZE_THREAD__) &&       \
    !defined(PEDALBENCH_SANITIZED)
#define PEDALBENCH_COUNTS_MALLOC
#include <atomic>
static std::atomic<long> heap_calls = 0;
extern "C" void* __libc_malloc(std::size_t);
extern "C" void* malloc(std::size_t size) noexcept {
    heap_calls.fetch_add(1, std::memory_order_relaxed);
    return __libc_malloc(size);
}
#else
static long heap_calls = 0;
#endif

using namespace pedalbench;
using namespace pedalbench::test;

namespace {

/// n uncoupled copies of y' = cos(t) y on a full pattern: as large as a circuit gets dense.
Made wide(int n) {
    return Made(
        n,
        [n](double t, const double* y, double* f) {
            for (int i = 0; i < n; ++i)
                f[i] = y[i] * std::cos(t);
        },
        [n](double t, const double* y, double* j, double* ft) {
            std::fill(j, j + n * n, 0.0);
            for (int i = 0; i < n; ++i) {
                j[i * n + i] = std::cos(t);
                ft[i] = -y[i] * std::sin(t);
            }
        });
}

} // namespace

TEST_CASE("after construction a step does not touch the heap") {
#ifdef PEDALBENCH_COUNTS_MALLOC
    const long fresh = heap_calls;
    void* volatile kept = std::malloc(1); // volatile: clang removes a pair that nobody looks at
    std::free(kept);
    REQUIRE(heap_calls == fresh + 1); // the counter works
#endif
    Made small = driven();
    TwoSprings guarded;
    Made large = wide(80);
    for (solve::Problem* p :
         {static_cast<solve::Problem*>(&small), static_cast<solve::Problem*>(&guarded),
          static_cast<solve::Problem*>(&large)}) {
        CAPTURE(p->size());
        solve::Stepper stepper(*p);
        REQUIRE(stepper.counters().steps == 0);
        std::vector<double> y(p->size(), -1.0);
        double t = 0, dt = 0.7; // refused at first: that path counts as well
        long accepted = 0, during = 0;
        while (t < 0.5) { // before the guard is reached, at pi/4
            const long before = heap_calls;
            accepted += stepper.attempt(*p, y, t, dt);
            during += heap_calls - before;
        }
        CHECK(during == 0);
        CHECK(stepper.counters().rejected > 0);
        CHECK(stepper.counters().events == 0);
        CHECK(accepted > 5);
    }
}
