// `check`, `parts` and `list`: what the program knows and what it makes of files, without a run.
#include <algorithm>
#include <cmath>
#include <cstdio>
#include <filesystem>
#include <system_error>

#include <fmt/format.h>

#include "commands.hpp"
#include "file_head.hpp"
#include "fit_file.hpp"
#include "parts/registry.hpp"
#include "reader.hpp"
#include "reading.hpp"
#include "report.hpp"
#include "study_file.hpp"
#include "system/faults.hpp"
#include "words.hpp"

namespace pedalbench::runner {

namespace {

namespace fs = std::filesystem;

void print_field(const Field& field, const OutputUnits& units) {
    std::string value = field_text(field, field.fallback, units);
    if (value == "unset")
        value = field.mark == Mark::given ? "must be given" : "derived from others";
    std::string range;
    if (field.dimension == Dimension::choice)
        range = one_of(split(field.choices, '|'));
    else if (field.low < field.high)
        range = field_text(field, field.low, units) + " to " + field_text(field, field.high, units);
    fmt::print("  {:<22} {:<24} {}\n", field.name, value, range);
    std::string words(field.help);
    if (field.mark != Mark::given) {
        words += "; default: " + mark_word(field.mark);
        if (!field.source.empty()) words += ", " + std::string(field.source);
    }
    fmt::print("{}", wrapped(words, kWidth, "      "));
}

void print_fields(std::span<const Field> fields, const OutputUnits& units) {
    fmt::print("  {:<22} {:<24} {}\n", "field", "default", "allowed");
    for (const Field& field : fields)
        print_field(field, units);
}

void print_kind(const PartKind& kind, const OutputUnits& units) {
    fmt::print("{}: {}\n", kind.name, kind.summary);
    print_fields(kind.fields, units);
    std::vector<std::string> ports;
    for (const PortInfo& port : kind.ports)
        if (port.kind == PortKind::line) ports.emplace_back(port.name);
    if (kind.through)
        fmt::print("  stands in a circuit, between its {} and its {}\n", ports.front(),
                   ports.back());
    if (!kind.quantities.empty()) fmt::print("  can be recorded, besides its pressures:\n");
    for (const QuantityInfo& q : kind.quantities)
        fmt::print("  {:<22} {}, {}\n", q.name, dimension_with_article(q.dimension), q.help);
    std::vector<std::string> events;
    for (const GuardInfo& guard : kind.guards)
        for (const std::string_view text :
             {guard.on, guard.off, guard.on_unwired, guard.off_unwired})
            if (!text.empty()) events.emplace_back(text);
    if (!events.empty()) {
        std::string list;
        for (const std::string& event : events)
            list += (list.empty() ? "" : ", ") + event;
        fmt::print("{}", wrapped("can tell: " + list, kWidth, "  "));
    }
    fmt::print("\n");
}

void print_fault(const FaultKind& fault, const OutputUnits& units) {
    fmt::print("fault {}: {}\n", fault.name, fault.help);
    std::vector<std::string> kinds;
    for (const PartKind* kind : part_kinds())
        if (fault.befalls(*kind)) kinds.emplace_back(kind->name);
    fmt::print("  at     {}\n", fault.part.empty() ? "any part with a line port" : one_of(kinds));
    if (const Field* size = size_field(fault)) {
        const bool needed = std::isnan(fault.value);
        fmt::print("  size   {} to {}, {}\n", field_text(*size, size->low, units),
                   field_text(*size, size->high, units),
                   needed ? "must be given" : "default " + field_text(*size, fault.value, units));
    }
    fmt::print("{}", comes_later(fault)
                         ? "  from   0 s: before the start\n  over   0 s: at once\n\n"
                         : "  from   the start only\n\n");
}

std::string first_sentence(const std::string& text) {
    for (std::size_t i = 0; i < text.size(); ++i)
        if (text[i] == '.' && (i + 1 == text.size() || text[i + 1] == ' ' || text[i + 1] == '\n'))
            return text.substr(0, i + 1);
    return text;
}

/// The scenarios that were installed beside the program, when none lie in the current folder.
fs::path scenario_folder() {
    std::error_code error;
    if (fs::is_directory("scenarios", error)) return "scenarios";
    const fs::path program = fs::read_symlink("/proc/self/exe", error);
    const fs::path installed = program.parent_path().parent_path() / "share/pedalbench/scenarios";
    return !error && fs::is_directory(installed, error) ? installed : fs::path("scenarios");
}

} // namespace

int check_command(const std::vector<std::string>& files) {
    bool fine = true;
    for (const std::string& file : files) {
        Findings findings;
        const std::optional<FileKind> kind = kind_of(file);
        if (kind == FileKind::study) {
            const auto study = read_study(file, {}, findings);
            refused(findings);
            fine = fine && study;
            if (study)
                fmt::print("{}: can be swept ({})\n", file,
                           counted(static_cast<long>(study::Rows(study->sweep).size()), "row"));
            continue;
        }
        if (kind == FileKind::fit) {
            const auto fit = read_fit(file, {}, findings);
            refused(findings);
            fine = fine && fit;
            if (fit)
                fmt::print("{}: can be fitted ({} of {})\n", file,
                           counted(static_cast<long>(fit->fit.at.size()), "row"), fit->measured);
            continue;
        }
        const auto loaded = read_scenario(file, {}, findings);
        refused(findings);
        fine = fine && loaded;
        if (!loaded) continue;
        const Scenario& s = loaded->scenario;
        std::string what = counted(static_cast<long>(s.hardware.parts.size()), "part");
        if (!loaded->hardware_only)
            what += ", " + show(s.duration) + " s, " +
                    counted(static_cast<long>(s.expectations.size()), "expectation");
        fmt::print("{}: can be {} ({})\n", file, loaded->hardware_only ? "used as hardware" : "run",
                   what);
    }
    return fine ? kFine : kRefused;
}

int parts_command(const std::string& name) {
    const OutputUnits units = OutputUnits::metric();
    const auto wanted = [&name](std::string_view one) { return name.empty() || name == one; };
    std::vector<std::string> names = {"fluid", "surroundings"};
    bool any = false;
    for (const PartKind* kind : part_kinds()) {
        names.emplace_back(kind->name);
        if (wanted(kind->name)) print_kind(*kind, units), any = true;
    }
    if (wanted("fluid")) {
        fmt::print("fluid: the brake fluid, the same in the whole car\n");
        print_fields(fluid_fields(), units);
        fmt::print("\n");
        any = true;
    }
    if (wanted("surroundings")) {
        fmt::print("surroundings: the air around the car\n");
        print_fields(surroundings_fields(), units);
        fmt::print("\n");
        any = true;
    }
    for (const FaultKind& fault : fault_kinds()) {
        if (nearest(fault.name, names) != fault.name) names.emplace_back(fault.name);
        if (wanted(fault.name)) print_fault(fault, units), any = true;
    }
    if (any) return kFine;
    Findings findings;
    findings.add({"parts"}, "", name, one_of(names), nearest(name, names));
    for (const std::string& line : findings.lines())
        fmt::print(stderr, "{}\n", line);
    return kRefused;
}

int list_command(const std::string& folder) {
    const fs::path root = folder.empty() ? scenario_folder() : fs::path(folder);
    std::error_code error;
    if (folder.empty() && !fs::is_directory(root, error)) {
        fmt::print(stderr, "list: found no folder named scenarios here, nor one installed with the "
                           "program, allowed a folder to look in, such as: pedalbench list "
                           "my_scenarios\n");
        return kRefused;
    }
    std::vector<fs::path> files;
    try {
        for (const auto& entry : fs::recursive_directory_iterator(root))
            if (entry.is_regular_file() && entry.path().extension() == ".yaml")
                files.push_back(entry.path());
    } catch (const fs::filesystem_error& e) {
        fmt::print(stderr, "{}: found {}, allowed a folder with scenarios\n", root.string(),
                   e.code().message());
        return kRefused;
    }
    std::sort(files.begin(), files.end());
    for (const fs::path& file : files) {
        Findings findings;
        const auto seen = glance(file.generic_string(), findings);
        if (!seen || !findings.empty()) {
            fmt::print("{}\n  cannot be read; `check` says why\n", file.generic_string());
        } else if (!seen->hardware_only) {
            fmt::print("{}{}\n{}{}", file.generic_string(),
                       seen->command == "run" ? "" : "   (for " + seen->command + ")",
                       wrapped(seen->title, kWidth, "  "),
                       wrapped(first_sentence(seen->text), kWidth, "      "));
        }
    }
    return kFine;
}

} // namespace pedalbench::runner
