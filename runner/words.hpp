// Small tools for text: numbers in and out, lists in words, and the nearest known word.
#pragma once

#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <vector>

namespace pedalbench::runner {

/// Without blanks at both ends.
std::string_view trim(std::string_view text);

/// A decimal number at the start of `text`, which is shortened by what was read. No nan, no inf, no
/// hexadecimal; `010` is ten. Numbers too large or too small for a double are refused, not rounded.
std::optional<double> take_number(std::string_view& text);
/// The whole text as a number.
std::optional<double> whole_number(std::string_view text);

/// A number for people: at most `digits` significant ones, no exponent between 1e-4 and 1e7.
std::string show(double value, int digits = 6);

/// Fewest insertions, deletions, replacements and swaps of neighbours that turn one word into the
/// other.
int edit_distance(std::string_view a, std::string_view b);

/// The known word that was probably meant; empty when none is near.
std::string nearest(std::string_view word, std::span<const std::string> known);

/// "a, b or c".
std::string one_of(std::span<const std::string> words);

/// "no|yes" to its words.
std::vector<std::string> split(std::string_view text, char at);

/// "1 step", "2 steps".
std::string counted(long n, std::string_view one, std::string_view many = {});

/// Breaks text at blanks into lines of at most `width` characters, each beginning with `indent`.
std::string wrapped(std::string_view text, int width, std::string_view indent);

/// Columns of everything that is shown on a terminal.
inline constexpr int kWidth = 100;
/// A first line that begins with `head`, and further lines under its text.
std::string hanging(const std::string& head, std::string_view text);

} // namespace pedalbench::runner
