#include "digest.hpp"

#include <fmt/format.h>

namespace pedalbench::runner {

void Digest::add(std::string_view text) {
    for (const char c : text)
        mix(static_cast<unsigned char>(c));
    for (std::size_t n = text.size(), k = 0; k < 8; ++k, n >>= 8)
        mix(static_cast<unsigned char>(n & 0xff));
}

void Digest::add(double value) {
    add(fmt::format("{:a}", value));
}

std::string Digest::text() const {
    return fmt::format("{:016x}", value_);
}

void Digest::mix(unsigned char byte) {
    value_ = (value_ ^ byte) * 0x100000001b3U;
}

} // namespace pedalbench::runner
