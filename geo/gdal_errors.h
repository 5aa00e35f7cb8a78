#pragma once

#include <string>
#include <vector>

namespace geo {

/// Collects what GDAL and OGR complain about on this thread while it lives, instead of letting them print it. Ask after
/// the call; nothing is thrown from inside the library. Scopes may nest; the innermost collects.
///
///     GdalErrors errors;
///     GDALDatasetUniquePtr file(GDALDataset::Open(...));
///     if (!file) throw models::Error(errors.text_or("no known kind of file"), path, "...");
class GdalErrors {
 public:
    GdalErrors();
    ~GdalErrors();
    GdalErrors(const GdalErrors&) = delete;
    GdalErrors& operator=(const GdalErrors&) = delete;

    bool failed() const { return failed_; }                                 ///< an error, not only a warning
    const std::vector<std::string>& messages() const { return messages_; }  ///< in order, each once
    /// The first error in GDAL's words, on one line; `otherwise` where it said nothing.
    std::string text_or(const std::string& otherwise) const;
    void clear();

    void take(bool is_error, const char* message) noexcept;  ///< called by the handler

 private:
    std::vector<std::string> messages_;
    std::string first_error_;
    bool failed_ = false;
};

/// Registers GDAL's drivers, once; every function of geo that opens a file by GDAL calls it first.
void register_gdal();

}  // namespace geo
