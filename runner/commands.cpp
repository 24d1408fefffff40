#include "commands.hpp"

#include <fmt/format.h>

#include "circuit/layout.hpp"
#include "findings.hpp"
#include "result_folder.hpp"

namespace pedalbench::runner {

int refused(const Findings& findings) {
    for (const std::string& line : findings.lines())
        fmt::print(stderr, "{}\n", line);
    return kRefused;
}

int answering(const std::string& file, const std::function<int()>& work) {
    try {
        return work();
    } catch (const InvalidHardware& e) {
        Findings findings;
        for (const Refusal& r : e.refusals())
            findings.refuse({file}, r.field, r.reason);
        return refused(findings);
    } catch (const CannotWrite& e) {
        fmt::print(stderr, "{}\n", e.what());
        return kCouldNotWrite;
    }
}

} // namespace pedalbench::runner
