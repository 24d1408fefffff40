// The commands, apart from the reading of the command line.
#pragma once

#include <cstddef>
#include <functional>
#include <string>
#include <vector>

namespace pedalbench::runner {

/// Exit codes: what a script may rely on.
enum Exit : int {
    kFine = 0,
    kExpectationFailed = 1,
    kRefused = 2,      // input or command line
    kCouldNotGoOn = 3, // what was computed is kept and marked
    kCouldNotWrite = 4,
    kInterrupted = 130,
};

struct RunRequest {
    std::string file;
    std::string out; // empty: runs/<file stem>
    std::vector<std::string> sets;
    std::vector<std::string> without; // faults
    std::string units;                // "", "metric", "us"
    bool plots = true;
    bool page = false;      // page.html, which plays the run back
    std::size_t spread = 0; // points of the set that varies what stands on judgement; 0: none
    unsigned threads = 0;   // for that; 0: as many as there are cores
};

/// Two or more files, or one file and what is to be changed in its second run.
struct CompareRequest {
    std::vector<std::string> files;
    std::string out;                  // empty: runs/compare_<file stems>
    std::vector<std::string> sets;    // in every run
    std::vector<std::string> with;    // values of the changed run
    std::vector<std::string> without; // faults that the changed run leaves out
    std::string units;
    bool plots = true;
    bool page = false; // page.html with the runs side by side
};

/// The old and the new car, or one car and what its new valve has otherwise.
struct ValveRequest {
    std::vector<std::string> files;
    std::string out;               // empty: runs/valve_<file stems>
    std::vector<std::string> sets; // in both cars
    std::vector<std::string> with; // of the new one
    std::string units;
    bool plots = true;
    unsigned threads = 0; // 0: as many as there are cores
};

struct MatchRequest {
    std::string file;
    std::string out; // empty: runs/match_<file stem>
    std::vector<std::string> sets, without;
    std::string units;
    bool plots = true;
    bool page = false;    // page.html with the answers, and the fault that leads played back
    unsigned threads = 0; // 0: as many as there are cores
};

struct SweepRequest {
    std::string file;
    std::string out; // empty: runs/<file stem>
    std::vector<std::string> sets;
    std::vector<std::string> without;
    std::string units;
    bool plots = true;
    bool page = false;    // page.html with the answers to look at
    unsigned threads = 0; // 0: as many as there are cores; under MPI one a process
    std::string shard;    // "2/8"; empty: all rows
};

struct FitRequest {
    std::string file;
    std::string out; // empty: runs/<file stem>
    std::vector<std::string> sets, without;
    std::string units;
    bool plots = true;
    unsigned threads = 0; // 0: as many as there are cores
};

class Findings;
/// Tells the error stream what is wrong with the input; gives kRefused.
int refused(const Findings& findings);
/// The same of one of several inputs: what was printed already is not told again.
int refused(const Findings& findings, std::vector<std::string>& printed);
/// What `work` gives; where it throws, says of which file the car cannot be built, or what cannot
/// be written, and gives the code for that.
int answering(const std::string& file, const std::function<int()>& work);

int run_command(const RunRequest& request);
int compare_command(const CompareRequest& request);
int valve_command(const ValveRequest& request);
/// 0: something explains every reading; 1: nothing does.
int match_command(const MatchRequest& request);
/// Makes the rows of a study, or one block of them, and answers when it has them all.
int sweep_command(const SweepRequest& request);
/// Joins the blocks that were made one by one, and answers.
int merge_command(const SweepRequest& request);
/// Moves fields of a car until a run shows what was measured.
int fit_command(const FitRequest& request);
int check_command(const std::vector<std::string>& files);
/// Every part and fault, or the one of that name.
int parts_command(const std::string& name);
/// The scenarios under `folder` and what each shows; empty: ./scenarios, or the installed ones.
int list_command(const std::string& folder);

} // namespace pedalbench::runner
