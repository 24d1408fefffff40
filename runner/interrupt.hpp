// Ctrl-C.
#pragma once

#include <csignal>

namespace pedalbench::runner {

/// While it lives, Ctrl-C ends the work in good order; a second Ctrl-C ends the program at once.
class Interruptible {
  public:
    Interruptible();
    ~Interruptible();
    Interruptible(const Interruptible&) = delete;
    Interruptible& operator=(const Interruptible&) = delete;

  private:
    struct sigaction before_ = {};
};

bool interrupted();

} // namespace pedalbench::runner
