// The complaints that are looked at with one and the same foot: what each file expects holds with
// its own fault and with none of the others, nor in the sound car.
#include "scenario.hpp"

using namespace pedalbench;
using namespace pedalbench::test;

namespace {

const char* const kComplaints[] = {"hose_flap",
                                   "sticking_piston",
                                   "parking_cable_hangs",
                                   "cut_primary_cup",
                                   "cut_secondary_front_cup",
                                   "cut_secondary_rear_cup",
                                   "slow_leak",
                                   "air_in_the_lines",
                                   "blocked_primary_port",
                                   "blocked_secondary_port"};

} // namespace

TEST_CASE("complaints: each file's expectations fit its own fault and no other") {
    std::vector<Scenario> all;
    for (const char* name : kComplaints)
        all.push_back(load(std::string("complaints/") + name));
    std::vector<Expectation> every;
    for (const Scenario& s : all)
        every.insert(every.end(), s.expectations.begin(), s.expectations.end());
    Scenario sound = intact(all.front());
    for (std::size_t fault = 0; fault <= all.size(); ++fault) {
        Scenario s = fault < all.size() ? all[fault] : sound;
        s.expectations = every;
        const Played run = play(s);
        std::size_t next = 0;
        for (std::size_t asked = 0; asked < all.size(); ++asked) {
            bool fits = true;
            std::string missed;
            for (std::size_t i = 0; i < all[asked].expectations.size(); ++i) {
                const ExpectationResult& e = run.summary.expectations[next++];
                fits = fits && e.held;
                if (!e.held) missed += e.text + ": " + std::to_string(e.found) + "; ";
            }
            CHECK_MESSAGE(fits == (asked == fault),
                          (fault < all.size() ? kComplaints[fault] : "the sound car")
                              << " asked for " << kComplaints[asked] << ": " << missed);
        }
    }
}
