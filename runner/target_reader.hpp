// The scenario that a study starts from, and those of its fields that the study sets.
#pragma once

#include <functional>
#include <optional>
#include <string>
#include <vector>

#include "reading.hpp"
#include "study/sweep.hpp"

namespace pedalbench::runner {

/// What a command says besides the file.
struct StudyRequest {
    std::vector<std::string> sets, without; // as of `run`
    std::string units;                      // "", "metric", "us"
};

class TargetReader {
  public:
    TargetReader(const Source& source, const StudyRequest& request)
        : source_(source), request_(request) {}

    /// The file that the key `scenario` names. False when it was refused.
    bool read_scenario_of(const Node& node);
    const Scenario& scenario() const { return scenario_; } // see study::started()
    const OutputUnits& units() const { return units_; }
    const std::string& title() const { return title_; }
    const std::string& file() const { return file_; }
    bool car_alone() const { return car_alone_; } // without a foot

    /// `keep: [part.field, ...]`.
    std::vector<study::Kept> read_keep(const Node& node);
    /// A map of part.field, or fault.size, to maps: reads `also` and leaves the other keys to
    /// `rest`.
    using Rest =
        std::function<void(MapReader& map, const Node& node, const Field&, study::Varied&)>;
    std::vector<study::Varied> read_varied(const Node& node, std::string_view wanted_as,
                                           const Rest& rest);

  private:
    struct Place {
        study::Target target;
        const Field* field = nullptr;
    };
    std::optional<Place> find(const Text& path, std::string_view wanted_as);
    void claim(const study::Target& target, const Text& path, std::string_view wanted_as);
    void read_also(const Node& node, const Field& field, study::Varied& v);

    const Source& source_;
    const StudyRequest& request_;
    Scenario scenario_;
    OutputUnits units_ = OutputUnits::metric();
    std::string file_, title_;
    bool car_alone_ = false;
    std::vector<std::string> claimed_;
};

} // namespace pedalbench::runner
