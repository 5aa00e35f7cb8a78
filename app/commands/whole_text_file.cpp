#include "app/commands/whole_text_file.h"

#include <cmath>
#include <iterator>
#include <system_error>

#include "geo/whole_file.h"
#include "models/error.h"

namespace app::commands {

WholeTextFile::WholeTextFile(std::filesystem::path file) : final_(std::move(file)), partial_(final_) {
    geo::refuse_special_file(final_);
    partial_ += ".part";
    stream_.open(partial_, std::ios::binary | std::ios::trunc);
    if (!stream_) {
        throw models::Error("the file cannot be written", final_.string(),
                            "check that the folder exists and can be written to");
    }
}

WholeTextFile::~WholeTextFile() {
    if (done_) return;
    stream_.close();
    std::error_code ignored;
    std::filesystem::remove(partial_, ignored);
}

void WholeTextFile::write(const fmt::memory_buffer& text) {
    stream_.write(text.data(), static_cast<std::streamsize>(text.size()));
}

void WholeTextFile::finish() {
    stream_.close();
    std::error_code problem;
    if (stream_) std::filesystem::rename(partial_, final_, problem);
    if (!stream_ || problem) {
        throw models::Error("writing the file failed", final_.string(), "check that the disk has room");
    }
    done_ = true;
}

void append_number(fmt::memory_buffer& text, double value) {
    if (std::isnan(value)) {
        fmt::format_to(std::back_inserter(text), "NaN");
    } else {
        fmt::format_to(std::back_inserter(text), "{:.17g}", value);
    }
}

}  // namespace app::commands
