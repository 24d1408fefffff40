// The commands, apart from the reading of the command line.
#pragma once

#include <cstddef>
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
    std::size_t spread = 0; // points of the set that varies what stands on judgement; 0: none
    unsigned threads = 0;   // for that; 0: as many as there are cores
};

struct MatchRequest {
    std::string file;
    std::string out; // empty: runs/match_<file stem>
    std::vector<std::string> sets, without;
    std::string units;
    unsigned threads = 0; // 0: as many as there are cores
};

struct SweepRequest {
    std::string file;
    std::string out; // empty: runs/<file stem>
    std::vector<std::string> sets;
    std::vector<std::string> without;
    std::string units;
    bool plots = true;
    unsigned threads = 0; // 0: as many as there are cores; under MPI one a process
    std::string shard;    // "2/8"; empty: all rows
};

class Findings;
/// Tells the error stream what is wrong with the input; gives kRefused.
int refused(const Findings& findings);

int run_command(const RunRequest& request);
/// 0: something explains every reading; 1: nothing does.
int match_command(const MatchRequest& request);
/// Makes the rows of a study, or one block of them, and answers when it has them all.
int sweep_command(const SweepRequest& request);
/// Joins the blocks that were made one by one, and answers.
int merge_command(const SweepRequest& request);
int check_command(const std::vector<std::string>& files);
/// Every part and fault, or the one of that name.
int parts_command(const std::string& name);
/// The scenarios under `folder` and what each shows; empty: ./scenarios, or the installed ones.
int list_command(const std::string& folder);

} // namespace pedalbench::runner
