#include "commands.hpp"

#include <algorithm>

#include <fmt/format.h>

#include "circuit/layout.hpp"
#include "findings.hpp"
#include "result_folder.hpp"

namespace pedalbench::runner {

int refused(const Findings& findings) {
    std::vector<std::string> printed;
    return refused(findings, printed);
}

int refused(const Findings& findings, std::vector<std::string>& printed) {
    for (const std::string& line : findings.lines()) {
        if (std::find(printed.begin(), printed.end(), line) != printed.end()) continue;
        printed.push_back(line);
        fmt::print(stderr, "{}\n", line);
    }
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
