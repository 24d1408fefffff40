// What is searched and what could be read, on a car whose lists can be written down by hand; and
// the file in which runs outlive a search.
#include "scenarios/scenario.hpp"

#include <filesystem>
#include <fstream>

#include "runner/fingerprint.hpp"
#include "runner/known_runs.hpp"
#include "study/match.hpp"

using namespace pedalbench;
using namespace pedalbench::study;
using namespace pedalbench::test;

namespace {

std::vector<std::string> places(const std::vector<Candidate>& all, const std::string& kind) {
    std::vector<std::string> at;
    for (const Candidate& c : all)
        if (c.kind && c.kind->name == kind) at.push_back(c.at);
    return at;
}

using Names = std::vector<std::string>;

} // namespace

TEST_CASE("every kind of fault has sizes that its field allows, or none where it has none") {
    for (const FaultKind& kind : fault_kinds()) {
        CAPTURE(std::string(kind.name));
        const bool sized = kind.sizes.scale != Sizes::Scale::none;
        CHECK(sized == !kind.size_field.empty());
        if (!sized || kind.sizes.scale == Sizes::Scale::times) continue;
        for (const Field& field : fields_of(kind)) {
            if (field.name != kind.size_field) continue;
            for (const double size : {kind.sizes.mild, kind.sizes.worst}) {
                CHECK(size >= field.low);
                CHECK(size <= field.high);
            }
        }
    }
    const Sizes steps{Sizes::Scale::logarithmic, 1e-5, 1e-3};
    CHECK(near(steps.at(0.5, kUnset), 1e-4, 0, 1e-12));
    const Sizes ratio{Sizes::Scale::times, 0.5, 2};
    CHECK(near(ratio.at(0.5, 30), 30, 0, 1e-12));
    const Sizes line{Sizes::Scale::linear, 0.2, 0};
    CHECK(near(line.at(0.25, kUnset), 0.15, 0, 1e-12));
}

TEST_CASE("faults are looked for where they can be, each stretch between two valves once") {
    const Scenario car = load("ordinary_stop");
    const std::vector<Candidate> all = candidates_of(car);
    CHECK(all[0].kind == nullptr); // the car as it is
    // The front residual valve is not fitted: it parts nothing, and only it can be one too many.
    CHECK(places(all, "leak") ==
          Names{"master.primary", "hold_off", "master.secondary", "rear_residual"});
    CHECK(places(all, "residual_valve_added") == Names{"front_residual"});
    CHECK(places(all, "residual_valve_missing") == Names{"rear_residual"});
    CHECK(places(all, "residual_valve_holds") == Names{"rear_residual"});
    CHECK(places(all, "hose_flap") == Names{"left_hose", "right_hose", "rear_hose"});
    CHECK(places(all, "thick_fluid") == Names{"fluid"});
    CHECK(places(all, "booster_without_vacuum").empty()); // it has none
    CHECK(places(all, "rod_held").empty());               // somebody does that, and knows
    for (const Candidate& c : all)
        if (c.kind && c.kind->name == "leak" && c.at == "hold_off")
            CHECK(c.alike == Names{"left_pipe", "left_hose", "front_left", "front_left_bleeder",
                                   "right_pipe", "right_hose", "front_right",
                                   "front_right_bleeder"});

    // A bubble is felt otherwise behind each pipe; a caliper stands where its hose ends.
    for (const Candidate& c : all) {
        if (!c.kind || c.kind->name != "air") {
            CHECK(c.spots.empty());
        } else if (c.at == "hold_off") {
            const std::vector<Candidate> spots = at_its_spots(c);
            REQUIRE(spots.size() == 5);
            CHECK(spots[0].alike == Names{"hold_off"});
            CHECK(spots[1].alike == Names{"left_pipe"});
            CHECK(spots[2].at == "left_hose");
            CHECK(spots[2].alike == Names{"left_hose", "front_left", "front_left_bleeder"});
            CHECK(spots[3].alike == Names{"right_pipe"});
            CHECK(spots[4].alike == Names{"right_hose", "front_right", "front_right_bleeder"});
        } else if (c.at == "master.primary") {
            // The switch and the valve that is not fitted: one passes nothing, one is an open way.
            const std::vector<Candidate> spots = at_its_spots(c);
            REQUIRE(spots.size() == 3);
            CHECK(spots[0].alike == Names{"master.primary"});
            CHECK(spots[1].alike == Names{"front_residual", "switch"});
            CHECK(spots[2].alike == Names{"front_pipe"});
        }
    }

    // The switch stands in both circuits. A leak at its name is put into the first, so that only
    // there it is one of the places that a leak can be.
    int at_switch = 0;
    for (const Candidate& c : all)
        if (c.kind && c.kind->name == "leak" &&
            std::count(c.alike.begin(), c.alike.end(), "switch") > 0) {
            ++at_switch;
            CHECK(c.at == "master.primary");
        }
    CHECK(at_switch == 1);

    // Each can be put in, at both ends of its sizes, and the name of what it inserts is free.
    for (const Candidate& c : all)
        for (const double u : {0.0, 1.0})
            CHECK_NOTHROW(with_fault(with_fault(car, c, u), all[1], 0.5));
}

TEST_CASE("of places that are felt alike those that were looked at are left out") {
    Scenario car = load("ordinary_stop");
    const auto alike = [&car](std::string_view kind) -> std::optional<Names> {
        for (const Candidate& c : candidates_of(car))
            if (c.kind && c.kind->name == kind && c.at == "rear_residual") return c.alike;
        return {};
    };
    const Names whole = alike("leak").value();
    REQUIRE(whole.size() > 3);
    CHECK(alike("air") == whole);
    car.ruled_out = {{"leak", whole[0]}, {"", whole[1]}};
    CHECK(alike("leak") == Names(whole.begin() + 2, whole.end()));
    Names of_air = whole;
    of_air.erase(of_air.begin() + 1);
    CHECK(alike("air") == of_air);
    for (const std::string& part : whole)
        car.ruled_out.push_back({"", part});
    CHECK_FALSE(alike("leak").has_value());
    // What is left of the air stands right behind the valve.
    for (const Candidate& c : candidates_of(car))
        if (c.kind && c.kind->name == "air" && c.at == "rear_residual") {
            REQUIRE(c.spots.size() == 1);
            CHECK(c.spots[0].alike == Names{"rear_residual"});
        }
    car.ruled_out.push_back({"air", "rear_residual"});
    CHECK_FALSE(alike("air").has_value());
}

TEST_CASE("readings are taken where the foot is still") {
    FootInput foot;
    foot.time = {0.3, 1, 3, 3.1, 3.2, 4};
    foot.value = {0, 50, 50, 80, 80, 0};
    const auto rests = rests_of(foot, 6);
    REQUIRE(rests.size() == 3);
    CHECK_FALSE(rests[0].pressed); // before the first point
    CHECK(near(rests[0].to, 0.3, 0, 0));
    CHECK(rests[1].pressed);
    CHECK(near(rests[1].from, 1, 0, 0));
    CHECK(near(rests[1].to, 3, 0, 0));
    CHECK_FALSE(rests[2].pressed); // 3.1 to 3.2 is too short
    CHECK(near(rests[2].from, 4, 0, 0));
    CHECK(near(rests[2].to, 6, 0, 0));
}

TEST_CASE("known runs outlive a search, a line that was cut short does not count") {
    namespace fs = std::filesystem;
    const fs::path folder = fs::temp_directory_path() / "pedalbench_known_runs";
    fs::remove_all(folder);
    const fs::path file = folder / "a" / "runs.txt";
    const std::vector<double> found{1.0 / 3, -2e-17, kUnset};
    {
        runner::KnownRuns store(file, 3);
        CHECK(store.find("as it is") == nullptr);
        store.put("as it is", found);
        store.put("leak at front 0.001", {}); // it could not be made
    }
    std::ofstream(file, std::ios::app) << "air at front 1e-06\t1 2";
    {
        runner::KnownRuns store(file, 3);
        const auto* known = store.find("as it is");
        REQUIRE(known != nullptr);
        REQUIRE(known->size() == 3);
        CHECK((*known)[0] == found[0]);
        CHECK((*known)[1] == found[1]);
        CHECK(std::isnan((*known)[2]));
        REQUIRE(store.find("leak at front 0.001") != nullptr);
        CHECK(store.find("leak at front 0.001")->empty());
        CHECK(store.find("air at front 1e-06") == nullptr);
        store.put("air at front 1e-06", found);
    }
    runner::KnownRuns store(file, 3);
    REQUIRE(store.find("air at front 1e-06") != nullptr);
    CHECK(store.find("air at front 1e-06")->size() == 3);
    fs::remove_all(folder);
}

TEST_CASE("what a scenario computes has its own fingerprint, its words and bounds have none") {
    const Scenario car = load("ordinary_stop");
    const auto columns = columns_of(car);
    const std::string own = runner::fingerprint(car, columns);
    CHECK(own.size() == 16);
    Scenario other = car;
    other.title = "another";
    other.expectations.clear();
    CHECK(runner::fingerprint(other, columns) == own);
    other.foot.value.back() += 1;
    CHECK(runner::fingerprint(other, columns) != own);
    other = load("ordinary_stop", {"front_left.piston=50 mm"});
    CHECK(runner::fingerprint(other, columns) != own);
    auto fewer = columns;
    fewer.pop_back();
    CHECK(runner::fingerprint(car, fewer) != own);
}
