// What values a varied field takes, and how often.
#pragma once

#include <vector>

namespace pedalbench::study {

/// All values in SI. What lies beyond the ends does not occur: such a part has been sorted out.
struct Distribution {
    enum class Kind {
        uniform,    // between low and high, each as likely
        normal,     // about `middle` with `deviation`, cut off at low and high
        triangular, // from low over the likeliest, `middle`, to high
        values      // one of a list, each as often
    } kind = Kind::uniform;
    double low = 0, high = 0;
    double middle = 0, deviation = 0;
    std::vector<double> values;
};

/// The value below which the share u in [0, 1] lies; 0 gives the lower end, 1 the upper one. Of a
/// list: the first to the last, in their order.
double quantile(const Distribution& distribution, double u);

} // namespace pedalbench::study
