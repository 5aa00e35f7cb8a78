#pragma once

#include <filesystem>
#include <optional>

namespace tests {

/// The folder of open data that the project's outside checks read: $LODICULE_SHARED, else ../shared beside the source
/// tree; nullopt where there is none.
std::optional<std::filesystem::path> shared_folder();

}  // namespace tests

/// First line of a test that needs the open data: without it the test says so and counts as skipped.
#define NEEDS_SHARED_DATA(variable)                                     \
    const auto variable##_found = tests::shared_folder();               \
    if (!variable##_found) {                                            \
        WARN("SKIPPED: no open data at $LODICULE_SHARED or ../shared"); \
        return;                                                         \
    }                                                                   \
    const std::filesystem::path variable = *variable##_found
