#pragma once

#include <cstdint>
#include <filesystem>
#include <optional>

namespace geo::grids {

/// How many bytes a NetCDF file has by its own header: of the classic formats (CDF-1, CDF-2, CDF-5) to the end of the
/// last value, of NetCDF-4 the end of file that HDF5 keeps. A download that broke off is shorter, and the library reads
/// what is not there as zeros. A header that itself breaks off asks for one byte more than there is.
/// @returns nullopt where the header does not say: another format, or records that are still being written
/// Source: NetCDF Classic Format Specification (Open Geospatial Consortium 10-092r3); HDF5 File Format Specification,
/// section II.A.
std::optional<std::uint64_t> length_by_header(const std::filesystem::path& file);

}  // namespace geo::grids
