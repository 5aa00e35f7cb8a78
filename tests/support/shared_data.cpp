#include "tests/support/shared_data.h"

#include <cstdlib>

namespace tests {

std::optional<std::filesystem::path> shared_folder() {
    std::filesystem::path folder = std::filesystem::path(LODICULE_SOURCE_DIR).parent_path() / "shared";
    if (const char* named = std::getenv("LODICULE_SHARED")) folder = named;
    if (std::filesystem::is_directory(folder / "data")) return folder;
    return std::nullopt;
}

}  // namespace tests
