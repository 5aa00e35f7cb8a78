#pragma once

#include <filesystem>
#include <fstream>

#include <fmt/format.h>

namespace app::commands {

/// A text file that is written piece by piece under another name until it is whole.
class WholeTextFile {
 public:
    /// @throws models::Error  the name belongs to no ordinary file, the folder cannot be written to
    explicit WholeTextFile(std::filesystem::path file);
    ~WholeTextFile();
    WholeTextFile(const WholeTextFile&) = delete;
    WholeTextFile& operator=(const WholeTextFile&) = delete;
    void write(const fmt::memory_buffer& text);
    /// @throws models::Error  the disk took no more
    void finish();

 private:
    std::filesystem::path final_, partial_;
    std::ofstream stream_;
    bool done_ = false;
};

/// Seventeen digits, so that the number reads back the same; "NaN" where there is none.
void append_number(fmt::memory_buffer& text, double value);

}  // namespace app::commands
