#include "geo/gdal_errors.h"

#include <algorithm>
#include <mutex>

#include <cpl_error.h>
#include <gdal.h>

namespace geo {

namespace {

void CPL_STDCALL collect_gdal_error(CPLErr severity, CPLErrorNum, const char* message) {
    auto* errors = static_cast<GdalErrors*>(CPLGetErrorHandlerUserData());
    if (errors != nullptr && severity >= CE_Warning) errors->take(severity >= CE_Failure, message);
}

}  // namespace

GdalErrors::GdalErrors() {
    CPLPushErrorHandlerEx(collect_gdal_error, this);
}

GdalErrors::~GdalErrors() {
    CPLPopErrorHandler();
    CPLErrorReset();
}

void GdalErrors::take(bool is_error, const char* message) noexcept {
    failed_ = failed_ || is_error;
    try {
        std::string line = message == nullptr ? "" : message;
        std::replace_if(
            line.begin(), line.end(), [](char c) { return c == '\n' || c == '\r' || c == '\t'; }, ' ');
        while (!line.empty() && (line.back() == ' ' || line.back() == '.')) line.pop_back();
        if (is_error && first_error_.empty()) first_error_ = line;
        // A damaged file of a million shapes says the same a million times.
        if (messages_.size() < 100 && std::find(messages_.begin(), messages_.end(), line) == messages_.end()) {
            messages_.push_back(std::move(line));
        }
    } catch (...) {
        // No memory for the words; `failed_` is set, which is what decides.
    }
}

std::string GdalErrors::text_or(const std::string& otherwise) const {
    return first_error_.empty() ? otherwise : first_error_;
}

void GdalErrors::clear() {
    messages_.clear();
    first_error_.clear();
    failed_ = false;
}

void register_gdal() {
    static std::once_flag once;
    std::call_once(once, GDALAllRegister);
}

}  // namespace geo
