// Ctrl-C while runs go on.
#pragma once

#include <csignal>

namespace pedalbench::runner {

/// Whether Ctrl-C was pressed while an Interruptible lived.
bool interrupted();

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

} // namespace pedalbench::runner
