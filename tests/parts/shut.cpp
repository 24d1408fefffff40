// A shut valve passes nothing at all: a law that leaks a little through a closed passage is
// continuous, and would empty a circuit in an hour.
#include <doctest/doctest.h>

#include "samples.hpp"

using namespace pedalbench;
using namespace pedalbench::test;

namespace {

struct Shut {
    const char *kind, *variant, *port;
    std::vector<std::pair<std::string_view, bool>> guards; // on or off when this way is shut
};

const std::vector<Shut>& ways() {
    static const std::vector<Shut> all = {
        {"residual_valve", "fitted", "outlet", {{"passes outward", false}, {"lets back", false}}},
        {"hold_off_valve",
         "by pressures",
         "outlet",
         {{"check", false}, {"plate", false}, {"return", false}}},
        {"tandem_master",
         "caged",
         "primary",
         {{"primary port", true}, {"primary recuperation", false}}},
        {"tandem_master",
         "caged",
         "secondary",
         {{"secondary port", true}, {"secondary recuperation", false}}},
        {"take_up_master",
         "by-pass blocked",
         "take_up",
         {{"take-up valve", false},
          {"take-up refill", false},
          {"primary port", true},
          {"primary recuperation", false}}},
        {"drum_brake", "sound", "line", {{"air passes the cups", false}}},
        {"bleeder", "shut", "line", {}},
        {"leak", "none yet", "line", {}},
    };
    return all;
}

template <class Table>
int place(const Table& table, std::string_view name) {
    for (std::size_t i = 0; i < table.size(); ++i)
        if (table[i].name == name) return static_cast<int>(i);
    FAIL("nothing is named " << name);
    return -1;
}

} // namespace

TEST_CASE("what is shut passes exactly nothing, whatever the pressures") {
    for (const Shut& way : ways()) {
        CAPTURE(way.kind);
        CAPTURE(way.port);
        const auto variant =
            std::find_if(variants().begin(), variants().end(), [&](const Variant& v) {
                return v.kind == way.kind && v.name == way.variant;
            });
        REQUIRE(variant != variants().end());
        const Specimen s(*variant);
        const int port = place(s.kind.ports, way.port);
        Draw draw(3);
        int shut = 0;
        for (int i = 0; i < 5000; ++i) {
            const std::vector<double> x = s.local(draw);
            const std::vector<char> mode = s.modes(x, draw);
            bool here = true;
            for (const auto& [name, on] : way.guards)
                here = here && (mode[place(s.kind.guards, name)] != 0) == on;
            for (int k = 0; k < s.guards(); ++k) // a burst diaphragm is another way out
                here = here && !(s.kind.guards[k].latch && mode[k]);
            if (!here) continue;
            ++shut;
            for (const bool located : {false, true}) {
                const std::vector<double> out = s.rates(x, mode, located);
                const int at = s.kind.positions() + kPortOutputs * port;
                CHECK(out[at] == 0);     // liquid
                CHECK(out[at + 1] == 0); // gas
                CHECK(out[at + 3] == 0); // air in solution
            }
        }
        CHECK(shut > 50);
    }
}
