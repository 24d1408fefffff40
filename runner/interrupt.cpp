#include "interrupt.hpp"

namespace pedalbench::runner {

namespace {
volatile std::sig_atomic_t pressed = 0;
}

Interruptible::Interruptible() {
    struct sigaction action = {};
    action.sa_handler = [](int) { pressed = 1; };
    action.sa_flags = static_cast<int>(SA_RESETHAND);
    sigaction(SIGINT, &action, &before_);
}

Interruptible::~Interruptible() {
    sigaction(SIGINT, &before_, nullptr);
}

bool interrupted() {
    return pressed != 0;
}

} // namespace pedalbench::runner
