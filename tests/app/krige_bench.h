#pragma once

#include <cmath>
#include <cstdio>
#include <filesystem>
#include <fstream>
#include <sstream>
#include <string>
#include <vector>

#include <fcntl.h>
#include <unistd.h>

#include "app/commands/krige_command.h"
#include "app/commands/variogram_command.h"

namespace tests {

/// A folder with a table of points, and the two commands run in it.
class KrigeBench {
 public:
    KrigeBench()
        : folder_(std::filesystem::temp_directory_path() / ("lodicule_krige_commands_" + std::to_string(::getpid()))) {
        std::filesystem::create_directories(folder_);
        std::ofstream table(path("points.csv"));
        table << "x,y,lon,lat,don\n";
        for (int i = 0; i < 30; ++i) {
            const double x = (i * 37) % 100, y = (i * 53) % 90;
            table << x << ',' << y << ',' << 19.0 + x * 1e-4 << ',' << 47.0 + y * 1e-4 << ','
                  << 1.0 + 0.5 * std::sin(x / 20.0) + 0.01 * i << '\n';
        }
    }
    ~KrigeBench() { std::filesystem::remove_all(folder_); }
    std::string path(const std::string& name) const { return (folder_ / name).string(); }
    int run(std::vector<std::string> words) {
        words.insert(words.begin(), "lodicule");
        std::vector<const char*> bare;
        for (const std::string& word : words) bare.push_back(word.c_str());
        return app::run_command_line({app::commands::make_variogram_command(), app::commands::make_krige_command()},
                                     static_cast<int>(bare.size()), bare.data());
    }
    /// What a refused command says on stderr.
    std::string refusal(std::vector<std::string> words) {
        std::fflush(stderr);
        const int kept = ::dup(STDERR_FILENO);
        const std::string heard = path("heard.txt");
        const int file = ::open(heard.c_str(), O_CREAT | O_TRUNC | O_WRONLY, 0600);
        ::dup2(file, STDERR_FILENO);
        const int code = run(std::move(words));
        std::fflush(stderr);
        ::dup2(kept, STDERR_FILENO);
        ::close(file);
        ::close(kept);
        std::ifstream stream(heard);
        std::ostringstream text;
        text << "exit " << code << ": " << stream.rdbuf();
        return text.str();
    }
    static constexpr const char* model = "nugget 0.01 + spherical 0.2 range 60";

 private:
    std::filesystem::path folder_;
};

}  // namespace tests
