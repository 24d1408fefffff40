#include "interrupt.hpp"

namespace pedalbench::runner {

namespace {

volatile std::sig_atomic_t seen = 0;

} // namespace

Interruptible::Interruptible() {
    struct sigaction action = {};
    action.sa_handler = [](int) { seen = 1; };
    action.sa_flags = static_cast<int>(SA_RESETHAND);
    sigaction(SIGINT, &action, &before_);
}

Interruptible::~Interruptible() {
    sigaction(SIGINT, &before_, nullptr);
}

bool interrupted() {
    return seen != 0;
}

} // namespace pedalbench::runner
