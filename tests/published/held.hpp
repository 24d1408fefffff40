// Comparison of a figure of ours with one from outside, noted for docs/verification.md.
#pragma once

#include <cstdio>
#include <cstdlib>

#include "unit/compare.hpp"

namespace pedalbench::test {

/// near(), and where PEDALBENCH_HELD names a file one line there: case, found, wanted, allowed,
/// parted by tabs. tests/verification makes its table of them.
inline Nearness held(double found, double wanted, double absolute, double relative) {
    const Nearness n = near(found, wanted, absolute, relative);
    if (const char* path = std::getenv("PEDALBENCH_HELD")) {
        std::FILE* file = std::fopen(path, "a");
        REQUIRE(file != nullptr);
        std::fprintf(file, "%s\t%.17g\t%.17g\t%.17g\n",
                     doctest::getContextOptions()->currentTest->m_name, found, wanted, n.allowed);
        std::fclose(file);
    }
    return n;
}

} // namespace pedalbench::test
