// What is wrong with the input: collected, so that a user sees all of a file's mistakes at once.
#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "digest.hpp"

namespace pedalbench::runner {

/// A place in the input. Without a column it is the line-th argument of its kind ("--set 1"),
/// without a line it is the file as a whole.
struct Position {
    std::string file;
    int line = 0;
    int column = 0;
};

/// "scenarios/x.yaml:12:5".
std::string text_of(const Position& at);

/// Refusals in the order of their places.
class Findings {
  public:
    /// "at: path: found X, allowed Y; did you mean Z?". Empty pieces are left out.
    void add(Position at, std::string_view path, std::string_view found, std::string_view allowed,
             std::string_view meant = {});
    /// "at: path: reason", for what cannot be said as found and allowed.
    void refuse(Position at, std::string_view path, std::string_view reason);

    /// Takes note of a text that was read in; what such notes come to stands for all of the input.
    void note(std::string_view text) { noted_.add(text); }
    const Digest& noted() const { return noted_; }

    bool empty() const { return found_.empty(); }
    std::size_t size() const { return found_.size(); }
    /// One line each, by file (in the order in which files were read), line and column. Only the
    /// first 20, then a line that counts the rest: a screen full is enough to start repairing.
    std::vector<std::string> lines() const;

  private:
    struct Finding {
        Position at;
        std::string text;
    };
    std::vector<Finding> found_;
    Digest noted_;
};

} // namespace pedalbench::runner
