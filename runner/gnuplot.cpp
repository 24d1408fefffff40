#include "gnuplot.hpp"

#include <fcntl.h>
#include <spawn.h>
#include <sys/wait.h>
#include <unistd.h>

#include <algorithm>
#include <array>
#include <cerrno>
#include <cstring>

extern char** environ;

namespace pedalbench::runner {

std::string run_gnuplot(const std::filesystem::path& dir, const std::string& script) {
    std::array<int, 2> ends;
    if (pipe2(ends.data(), O_CLOEXEC) != 0) return std::strerror(errno);
    posix_spawn_file_actions_t actions;
    posix_spawn_file_actions_init(&actions);
    posix_spawn_file_actions_addchdir_np(&actions, dir.c_str());
    posix_spawn_file_actions_addopen(&actions, 0, "/dev/null", O_RDONLY, 0);
    posix_spawn_file_actions_adddup2(&actions, ends[1], 1);
    posix_spawn_file_actions_adddup2(&actions, ends[1], 2);
    std::array<std::string, 3> words = {"gnuplot", "--default-settings", script};
    std::array<char*, 4> arguments = {words[0].data(), words[1].data(), words[2].data(), nullptr};
    pid_t child = 0;
    const int failed =
        posix_spawnp(&child, "gnuplot", &actions, nullptr, arguments.data(), environ);
    posix_spawn_file_actions_destroy(&actions);
    close(ends[1]);
    if (failed != 0) {
        close(ends[0]);
        if (failed != ENOENT) return std::string("gnuplot did not start: ") + std::strerror(failed);
        return "gnuplot was not found. Install it (Debian: apt-get install gnuplot-nox), then run "
               "`gnuplot " +
               script + "` in the folder of the results";
    }
    std::string said;
    std::array<char, 4096> buffer;
    for (ssize_t n = 0; (n = read(ends[0], buffer.data(), buffer.size())) != 0;) {
        if (n > 0)
            said.append(buffer.data(), static_cast<std::size_t>(n));
        else if (errno != EINTR)
            break;
    }
    close(ends[0]);
    int status = 0;
    while (waitpid(child, &status, 0) < 0 && errno == EINTR) {
    }
    if (WIFEXITED(status) && WEXITSTATUS(status) == 0) return {};
    std::replace(said.begin(), said.end(), '\n', ' ');
    return "gnuplot failed: " + said;
}

} // namespace pedalbench::runner
