#include "interrupt.hpp"

#include <atomic>

namespace pedalbench::runner {

namespace {

// Set by the handler and read by every thread that runs.
std::atomic<bool> seen = false;
static_assert(std::atomic<bool>::is_always_lock_free); // else no handler may touch it

} // namespace

Interruptible::Interruptible() {
    struct sigaction action = {};
    action.sa_handler = [](int) { seen = true; };
    action.sa_flags = static_cast<int>(SA_RESETHAND);
    sigaction(SIGINT, &action, &before_);
}

Interruptible::~Interruptible() {
    sigaction(SIGINT, &before_, nullptr);
}

bool interrupted() {
    return seen;
}

} // namespace pedalbench::runner
