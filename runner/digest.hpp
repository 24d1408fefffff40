// FNV-1a with 64 bits (G. Fowler, L. C. Noll, K.-P. Vo): sixteen letters that stand for much text.
#pragma once

#include <cstdint>
#include <string>
#include <string_view>

namespace pedalbench::runner {

class Digest {
  public:
    /// Texts are kept apart by their lengths.
    void add(std::string_view text);
    /// To the last bit.
    void add(double value);
    std::string text() const;

  private:
    void mix(unsigned char byte);

    std::uint64_t value_ = 0xcbf29ce484222325U;
};

} // namespace pedalbench::runner
