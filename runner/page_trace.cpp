#include "page_trace.hpp"

#include <algorithm>
#include <cmath>
#include <set>

#include "circuit/layout.hpp"
#include "system/changes.hpp"

namespace pedalbench::runner {

namespace {

/// The last word of a channel's path.
std::string_view quantity_of(std::string_view path) {
    return path.substr(path.rfind('.') + 1);
}

/// "front_left" or "master.primary": what the channels of a port's volume begin with.
std::string place_of(const Instance& part, const PartKind& kind, const PortInfo& port) {
    const auto lines = std::count_if(kind.ports.begin(), kind.ports.end(),
                                     [](const PortInfo& p) { return p.kind == PortKind::line; });
    const bool alone = port.kind == PortKind::line && lines == 1;
    return alone ? part.name : part.name + "." + std::string(port.name);
}

bool closed(PortKind kind) {
    return kind == PortKind::line || kind == PortKind::sensing;
}

} // namespace

std::vector<std::string> page_channels(const Scenario& scenario) {
    const Layout layout = make_layout(scenario.hardware);
    std::set<std::string> again; // places that are one volume with a place before them
    std::set<int> seen;
    for (const int k : layout.listed) {
        const Instance& part = layout.instances[static_cast<std::size_t>(k)];
        const PartKind& kind = kind_of(scenario.hardware, part);
        for (std::size_t port = 0; port < part.node.size(); ++port)
            if (closed(kind.ports[port].kind) && !seen.insert(part.node[port]).second)
                again.insert(place_of(part, kind, kind.ports[port]));
    }
    const std::vector<std::string> recorded = recorded_of(scenario);
    const std::set<std::string> own(recorded.begin(), recorded.end());
    const auto is_leak = [&scenario](const std::string& name) {
        const PartSpec* part = find_part(scenario.hardware, name);
        return part && part->kind->name == "leak";
    };
    std::vector<std::string> wanted;
    for (const Channel& c : channels_of(scenario)) {
        const std::string_view quantity = quantity_of(c.path);
        const std::string place = c.path.substr(0, c.path.size() - quantity.size() - 1);
        const bool of_volume = quantity == "pressure" || quantity == "free_air";
        // What a leak draws in shows in the world's air alone.
        const bool of_leak =
            place.ends_with(".outside") && is_leak(place.substr(0, place.find('.')));
        const bool hidden = quantity == "dissolved_air" || (quantity == "air" && !of_leak) ||
                            (of_volume && again.count(place) > 0);
        if (!hidden || own.count(c.path) > 0) wanted.push_back(c.path);
    }
    return wanted;
}

void mark_recorded(Summary& summary, const std::vector<std::string>& recorded) {
    for (ChannelFigures& f : summary.channels)
        f.recorded = std::find(recorded.begin(), recorded.end(), f.channel.path) != recorded.end();
}

PageTrace::PageTrace(std::vector<std::string> recorded, Sink& files)
    : recorded_(std::move(recorded)), files_(files) {}

void PageTrace::begin(const std::vector<Channel>& channels) {
    channels_ = channels;
    std::vector<Channel> own;
    for (const Channel& c : channels) {
        const bool his = std::find(recorded_.begin(), recorded_.end(), c.path) != recorded_.end();
        for_files_.push_back(his);
        if (his) own.push_back(c);
    }
    files_.begin(own);
}

void PageTrace::row(double time, std::span<const double> values) {
    time_.push_back(time);
    row_.clear();
    for (std::size_t i = 0; i < values.size(); ++i) {
        values_.push_back(static_cast<float>(values[i]));
        if (for_files_[i]) row_.push_back(values[i]);
    }
    files_.row(time, row_);
}

void PageTrace::event(const Event& event) {
    events_.push_back(event.time);
    files_.event(event);
}

std::vector<std::size_t> PageTrace::rows(std::size_t most) const {
    const std::size_t n = time_.size();
    std::vector<std::size_t> kept;
    if (n <= most) {
        for (std::size_t i = 0; i < n; ++i)
            kept.push_back(i);
        return kept;
    }
    std::vector<double> span;
    for (std::size_t c = 0; c < channels_.size(); ++c) {
        float low = value(0, c), high = low;
        for (std::size_t i = 1; i < n; ++i) {
            low = std::fmin(low, value(i, c));
            high = std::fmax(high, value(i, c));
        }
        span.push_back(static_cast<double>(high) - static_cast<double>(low));
    }
    // How much moves from the row before: each channel counts by its own range.
    std::vector<double> moved(n, 0);
    double all = 0;
    for (std::size_t i = 1; i < n; ++i) {
        for (std::size_t c = 0; c < channels_.size(); ++c) {
            const double step = std::abs(static_cast<double>(value(i, c) - value(i - 1, c)));
            if (span[c] > 0 && std::isfinite(step)) moved[i] += step / span[c];
        }
        all += moved[i];
    }
    // Both sides of an event: the last row at or before it, and the row behind that.
    std::vector<bool> beside(n, false);
    for (const double t : events_) {
        const auto after = std::upper_bound(time_.begin(), time_.end(), t) - time_.begin();
        if (after > 0) beside[static_cast<std::size_t>(after) - 1] = true;
        if (after < static_cast<long>(n)) beside[static_cast<std::size_t>(after)] = true;
    }
    const double length = time_.back() - time_.front();
    double due = 1; // the first row is
    for (std::size_t i = 0; i < n; ++i) {
        if (i > 0)
            due += 0.5 * static_cast<double>(most) *
                   ((time_[i] - time_[i - 1]) / length + (all > 0 ? moved[i] / all : 0));
        if (due < 1 && !beside[i] && i + 1 < n) continue;
        kept.push_back(i);
        due = 0;
    }
    return kept;
}

std::vector<std::size_t> PageTrace::rows_with(std::vector<std::size_t> rows,
                                              const std::vector<double>& times) const {
    for (const double t : times)
        if (const auto after = std::upper_bound(time_.begin(), time_.end(), t) - time_.begin();
            after > 0)
            rows.push_back(static_cast<std::size_t>(after) - 1);
    std::sort(rows.begin(), rows.end());
    rows.erase(std::unique(rows.begin(), rows.end()), rows.end());
    return rows;
}

} // namespace pedalbench::runner
