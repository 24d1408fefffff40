// Starts the built command as a script does, in a folder of its own.
#pragma once

#include <filesystem>
#include <fstream>
#include <iterator>
#include <string>
#include <vector>

#include <fcntl.h>
#include <sys/wait.h>
#include <unistd.h>

#include "places.hpp"

namespace pedalbench::test {

namespace fs = std::filesystem;

struct Folder {
    fs::path path;
    Folder() {
        std::string name = (fs::temp_directory_path() / "pedalbench_command_XXXXXX").string();
        path = mkdtemp(name.data());
    }
    ~Folder() { fs::remove_all(path); }
    Folder(const Folder&) = delete;
    Folder& operator=(const Folder&) = delete;

    std::string text(const fs::path& name) const {
        std::ifstream in(path / name, std::ios::binary);
        return {std::istreambuf_iterator<char>(in), {}};
    }
    void write(const fs::path& name, const std::string& text) const {
        std::ofstream(path / name, std::ios::binary) << text;
    }
};

inline pid_t start(const Folder& folder, std::vector<std::string> words,
                   const std::string& program = command_path()) {
    words.insert(words.begin(), program);
    std::vector<char*> argv;
    for (std::string& word : words)
        argv.push_back(word.data());
    argv.push_back(nullptr);
    const pid_t child = fork();
    if (child != 0) return child;
    // Not through stdio, whose buffers are copies of the parent's.
    if (chdir(folder.path.c_str()) != 0 || dup2(creat("out", 0600), STDOUT_FILENO) < 0 ||
        dup2(creat("err", 0600), STDERR_FILENO) < 0)
        _exit(99);
    execvp(argv[0], argv.data());
    _exit(99);
}

inline int finish(pid_t child) {
    int status = 0;
    waitpid(child, &status, 0);
    return WIFEXITED(status) ? WEXITSTATUS(status) : -WTERMSIG(status);
}

inline int run(const Folder& folder, const std::vector<std::string>& words) {
    return finish(start(folder, words));
}

inline void write_scenario(const Folder& folder, const std::string& duration,
                           const std::string& expectations) {
    fs::copy_file(fs::path(source_folder()) / "tests/refusals/cars/small.yaml",
                  folder.path / "car.yaml");
    std::ofstream(folder.path / "stop.yaml")
        << "pedalbench: 1\ntitle: a gentle press\nhardware: car.yaml\n"
           "foot: {force: [[0 s, 0 N], [0.2 s, 20 N], [0.5 s, 20 N], [0.6 s, 0 N]]}\n"
        << "duration: " << duration << "\nexpectations: " << expectations << "\n";
}

} // namespace pedalbench::test
