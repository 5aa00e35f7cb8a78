#pragma once

#include <filesystem>
#include <string_view>

namespace geo {

/// A place that may be written over: not there yet, or an ordinary file.
/// @throws models::Error  a folder, a device, a pipe: replacing it would take away something that is no file of ours
void refuse_special_file(const std::filesystem::path& file);

/// Puts the bytes into a file at one stroke: they are written beside and renamed, so that a reader sees the old file
/// or the new one and never half of it.
/// @throws models::Error  as refuse_special_file; the folder cannot be written; the disk took no more
void write_whole_file(const std::filesystem::path& file, std::string_view bytes);

}  // namespace geo
