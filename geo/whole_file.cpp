#include "geo/whole_file.h"

#include <fstream>
#include <system_error>

#include "models/error.h"

namespace geo {

void refuse_special_file(const std::filesystem::path& file) {
    std::error_code ignored;
    const std::filesystem::file_status status = std::filesystem::status(file, ignored);
    if (!std::filesystem::exists(status) || std::filesystem::is_regular_file(status)) return;
    throw models::Error(std::filesystem::is_directory(status) ? "this is a folder" : "this is a device and no file",
                        file.string(), "name a file");
}

void write_whole_file(const std::filesystem::path& file, std::string_view bytes) {
    refuse_special_file(file);
    const std::filesystem::path beside = file.string() + ".part";
    std::ofstream out(beside, std::ios::binary | std::ios::trunc);
    if (!out) {
        throw models::Error("the file cannot be written", file.string(),
                            "check that the folder is there and that you may write to it");
    }
    out.write(bytes.data(), static_cast<std::streamsize>(bytes.size()));
    out.close();
    std::error_code failed, ignored;
    if (out) std::filesystem::rename(beside, file, failed);
    if (out && !failed) return;
    std::filesystem::remove(beside, ignored);
    throw models::Error("the file cannot be written" + (failed ? ": " + failed.message() : std::string()),
                        file.string(), "check the folder, its rights and the free space");
}

}  // namespace geo
