// What a page needs of a run beyond what its user records, and the sink that keeps it.
#pragma once

#include <cstddef>
#include <string>
#include <vector>

#include "record/record.hpp"

namespace pedalbench::runner {

/// Channels that the drawing of a car moves by: the quantities of its parts, pressure and free air
/// once for each point of its circuits, the fluid in its reservoirs; and what the user records.
std::vector<std::string> page_channels(const Scenario& scenario);
/// Marks as recorded only those that the user records: reports and files tell of his alone.
void mark_recorded(Summary& summary, const std::vector<std::string>& recorded);

/// Keeps a run for a page, and hands what the user records on to the sink of the files, so that
/// these are the same with a page and without.
class PageTrace final : public Sink {
  public:
    /// `recorded`: the channels for `files`.
    PageTrace(std::vector<std::string> recorded, Sink& files);

    void begin(const std::vector<Channel>& channels) override;
    void row(double time, std::span<const double> values) override;
    void event(const Event& event) override;

    const std::vector<Channel>& channels() const { return channels_; }
    const std::vector<double>& time() const { return time_; }
    /// SI; the digits of a float are more than a page shows.
    float value(std::size_t row, std::size_t channel) const {
        return values_[row * channels_.size() + channel];
    }
    bool recorded(std::size_t channel) const { return for_files_[channel]; }

    /// Rows for about `most` of them, in order: all where they are few enough. Else both sides of
    /// every event, and the others where much moves more densely than where nothing does.
    std::vector<std::size_t> rows(std::size_t most) const;
    /// Those rows and, for each of these times, the last one at or before it: runs that stand side
    /// by side are then looked at at the same moments.
    std::vector<std::size_t> rows_with(std::vector<std::size_t> rows,
                                       const std::vector<double>& times) const;

  private:
    std::vector<std::string> recorded_;
    Sink& files_;
    std::vector<Channel> channels_;
    std::vector<bool> for_files_;             // per channel
    std::vector<double> time_, row_, events_; // s; values of the row; s
    std::vector<float> values_;               // row by row
};

} // namespace pedalbench::runner
