#pragma once

#include <filesystem>
#include <map>
#include <memory>
#include <string>
#include <utility>
#include <vector>

#include <catch2/catch.hpp>
#include <gdal_priv.h>

#include "geo/gdal_errors.h"

/// Writes small NetCDF files for tests, array by array.
namespace store_tests {

class NetcdfFile {
 public:
    using Texts = std::vector<std::pair<std::string, std::string>>;

    explicit NetcdfFile(const std::filesystem::path& file) {
        geo::register_gdal();
        GDALDriver* driver = GetGDALDriverManager()->GetDriverByName("netCDF");
        REQUIRE(driver != nullptr);
        const char* const format[] = {"FORMAT=NC4", nullptr};
        dataset_.reset(driver->CreateMultiDimensional(file.string().c_str(), nullptr, const_cast<char**>(format)));
        REQUIRE(dataset_);
        root_ = dataset_->GetRootGroup();
    }

    void dimension(const std::string& name, std::size_t size) {
        dimensions_[name] = root_->CreateDimension(name, "", "", size);
        REQUIRE(dimensions_[name]);
    }
    void array(const std::string& name, const std::vector<std::string>& dimensions, const std::vector<double>& values,
               const std::string& unit, const Texts& texts = {}) {
        std::vector<std::shared_ptr<GDALDimension>> of;
        std::vector<std::size_t> count;
        std::vector<GUInt64> start;
        std::size_t size = 1;
        for (const std::string& dimension : dimensions) {
            of.push_back(dimensions_.at(dimension));
            count.push_back(static_cast<std::size_t>(of.back()->GetSize()));
            start.push_back(0);
            size *= count.back();
        }
        REQUIRE(values.size() == size);
        const auto type = GDALExtendedDataType::Create(GDT_Float64);
        const auto written = root_->CreateMDArray(name, of, type, nullptr);
        REQUIRE(written);
        if (!unit.empty()) written->SetUnit(unit);
        for (const auto& [attribute, text] : texts) {
            const auto made = written->CreateAttribute(attribute, {}, GDALExtendedDataType::CreateString(), nullptr);
            REQUIRE(made);
            REQUIRE(made->Write(text.c_str()));
        }
        written->SetNoDataValue(nothing);
        REQUIRE(written->Write(start.data(), count.data(), nullptr, nullptr, type, values.data()));
    }

    static constexpr double nothing = -9999.0;

 private:
    std::unique_ptr<GDALDataset> dataset_;
    std::shared_ptr<GDALGroup> root_;
    std::map<std::string, std::shared_ptr<GDALDimension>> dimensions_;
};

}  // namespace store_tests
