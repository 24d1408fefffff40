// The page without its runs. page_template.cpp is written when the program is built, from
// plots/page.
#pragma once

#include <string_view>

namespace pedalbench::runner {

/// HTML with two places to be filled: see page.cpp. Empty where the program was built without.
extern const std::string_view kPageTemplate;
/// Why it is empty.
extern const std::string_view kNoPageTemplate;

} // namespace pedalbench::runner
