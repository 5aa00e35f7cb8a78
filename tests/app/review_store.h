#pragma once

#include <cstdlib>
#include <filesystem>
#include <fstream>
#include <iterator>
#include <string>
#include <vector>

#include <catch2/catch.hpp>
#include <fmt/format.h>
#include <unistd.h>

#include "app/commands/add_command.h"
#include "app/commands/import_command.h"
#include "app/commands/new_command.h"
#include "app/commands/review_command.h"
#include "geo/store/kept_forecasts.h"
#include "geo/store/store.h"
#include "tests/app/captured_output.h"

namespace tests {

/// Six fields in three seasons, scouted, tested a little, without weather: the model of cultivar and residue speaks.
class ReviewStore {
 public:
    explicit ReviewStore(const std::string& name, bool with_findings = true)
        : folder_(std::filesystem::temp_directory_path() / (name + "_" + std::to_string(::getpid()))) {
        std::filesystem::remove_all(folder_);
        std::filesystem::create_directories(folder_);
        said({"new", store()});
        std::string outlines = R"({"type":"FeatureCollection","features":[)";
        for (int f = 0; f < 6; ++f) {
            const double west = 10.0 + 0.01 * f;
            outlines += fmt::format(
                R"({}{{"type":"Feature","properties":{{"field":"{}","grower":"Orl"}},"geometry":{{"type":"Polygon",)"
                R"("coordinates":[[[{:.3f},50.0],[{:.3f},50.0],[{:.3f},50.003],[{:.3f},50.003],[{:.3f},50.0]]]}}}})",
                f == 0 ? "" : ",", static_cast<char>('A' + f), west, west + 0.005, west + 0.005, west, west);
        }
        import("fields", "fields.geojson", outlines + "]}");
        const char* resistance[] = {"VS", "S", "VS", "S", "MR", "MS"};
        std::string crops =
            "field,season,crop,wheat_type,resistance,previous_crop,residue,flowering_date,flowering_source,"
            "yield_t_per_ha\n";
        for (int season = 2021; season <= 2023; ++season) {
            for (int f = 0; f < 6; ++f) {
                const bool barley = season == 2022 && f == 5;
                const bool maize = f == 2 || (f == 3 && season != 2021) || (f == 0 && season == 2023);
                crops += fmt::format("{},{},{},winter,{},{},{},{}-06-0{},observed,6\n", static_cast<char>('A' + f),
                                     season, barley ? "barley" : "wheat", resistance[f], maize ? "maize" : "wheat",
                                     maize ? "heavy" : "none", season, f + 1);
            }
        }
        import("crops", "crops.csv", crops);
        if (!with_findings) return;
        import("scouting", "scouting.csv",
               "field,date,heads,incidence_pct,severity_pct\n"
               "A,2021-06-25,80,60,15\nB,2021-06-25,80,20,4\nC,2021-06-25,80,70,22\nD,2021-06-25,80,10,3\n"
               "E,2021-06-25,80,5,1\nF,2021-06-25,80,50,12\n"
               "A,2021-06-10,80,10,2\nA,2021-05-20,80,0,0\nB,2021-07-20,80,90,50\nC,2021-06-28,80,75,\n"
               "A,2022-06-25,80,40,9.9\nB,2022-06-25,80,10,2\nC,2022-06-25,80,50,14\nD,2022-06-25,80,40,10\n"
               "E,2022-06-25,80,0,0\nF,2022-06-25,80,90,40\n"
               "A,2023-06-25,80,80,30\nB,2023-06-25,80,50,12\nC,2023-06-25,80,12,3\nD,2023-06-25,80,70,25\n"
               "E,2023-06-25,80,40,8\nF,2023-06-25,80,10,2\n");
        import("loads", "loads.csv",
               "load,time,net_t\nLB,2021-07-15T10:00+02:00,20\nLC,2022-07-10T10:00+02:00,20\n"
               "LM,2022-07-11T10:00+02:00,20\n");
        import("load-parts", "load-parts.csv", "load,field,share\nLB,B,1\nLC,C,1\nLM,A,0.5\nLM,D,0.5\n");
        import("tests", "tests.csv",
               "test,time,sample,stage,kind,field,load,increments,mass_g,don,unit,method,chosen_because,valid,"
               "void_reason\n"
               "A1,2021-07-10T10:00+02:00,SA1,standing,composite,A,,10,1000,2.5,mg/kg,strip,risk,,\n"
               "B1,2021-07-15T11:00+02:00,SB1,truck,composite,,LB,10,1000,0.3,mg/kg,strip,random,,\n"
               "C1,2021-07-10T12:00+02:00,SC1,standing,composite,C,,10,1000,3.1,mg/kg,laboratory,random,,\n"
               "D1,2021-07-10T13:00+02:00,SD1,standing,composite,D,,10,1000,,mg/kg,strip,random,no,no control line\n"
               "E1,2021-07-10T14:00+02:00,SE1,standing,composite,E,,10,1000,<2,mg/kg,strip,random,,\n"
               "A2,2022-07-06T10:00+02:00,SA2,standing,composite,A,,10,1000,1.25,mg/kg,strip,random,,\n"
               "A3,2022-07-09T10:00+02:00,SA3,standing,composite,A,,10,1000,0.5,mg/kg,strip,random,,\n"
               "B2,2022-07-04T10:00+02:00,SB2,standing,composite,B,,10,1000,<0.2,mg/kg,strip,random,,\n"
               "C2,2022-07-10T11:00+02:00,SC2,truck,composite,,LC,10,1000,>2,mg/kg,strip,random,,\n"
               "M2,2022-07-11T11:00+02:00,SM2,truck,composite,,LM,10,1000,4,mg/kg,strip,random,,\n"
               "D3,2023-07-09T10:00+02:00,SD3,standing,composite,D,,10,1000,1.9,mg/kg,strip,random,,\n"
               "F3,2023-07-09T11:00+02:00,SF3,standing,composite,F,,10,1000,0.2,mg/kg,strip,random,,\n");
    }
    ~ReviewStore() { std::filesystem::remove_all(folder_); }
    ReviewStore(const ReviewStore&) = delete;
    ReviewStore& operator=(const ReviewStore&) = delete;

    std::string path(const std::string& name) const { return (folder_ / name).string(); }
    std::string store() const { return path("review.lodicule"); }
    void import(const std::string& kind, const std::string& name, const std::string& text) const {
        std::ofstream(path(name)) << text;
        said({"import", store(), kind, path(name)});
    }
    std::string bytes(const std::string& name) const {
        std::ifstream file(path(name), std::ios::binary);
        return {std::istreambuf_iterator<char>(file), {}};
    }
    static int run(std::vector<std::string> words) {
        words.insert(words.begin(), "lodicule");
        std::vector<const char*> bare;
        for (const std::string& word : words) bare.push_back(word.c_str());
        using namespace app::commands;
        return app::run_command_line(
            {make_new_command(), make_import_command(), make_add_command(), make_review_command()},
            static_cast<int>(bare.size()), bare.data());
    }
    /// What it prints, or, where it is refused, what it says about that.
    static std::string said(const std::vector<std::string>& words, int code = 0) {
        const CapturedOutput out(stdout), err(stderr);
        const int done = run(words);
        INFO(out.text() + err.text());
        CHECK(done == code);
        return code == 0 ? out.text() : err.text();
    }
    std::string review(std::vector<std::string> words, int code = 0) const {
        words.insert(words.begin(), {"review", store()});
        return said(words, code);
    }

    /// Keeps forecasts of a limit of 1 mg/kg as if it were that moment.
    void keep(const char* utc, std::vector<geo::KeptForecast> forecasts) const {
        const auto seconds = models::parse_stamp(utc)->utc.time_since_epoch().count();
        ::setenv("SOURCE_DATE_EPOCH", std::to_string(seconds).c_str(), 1);
        geo::Store opened = geo::Store::open(store());
        const auto asked = static_cast<int>(forecasts.size());
        CHECK(geo::keep_forecasts(opened, forecasts, "Orl") == asked);
        ::unsetenv("SOURCE_DATE_EPOCH");
    }
    static geo::KeptForecast forecast(int season, const char* field, double exceedance, double median, double low,
                                      double high, int known) {
        return {{}, season, field, "", 1.0, exceedance, median, low, high, known, "default disease model"};
    }
    /// The same, made afterwards as of a past day.
    static geo::KeptForecast afterwards(geo::KeptForecast one, models::LocalDay as_of) {
        one.as_of = as_of;
        return one;
    }
    /// The forecasts of 2022: of A four, of B, C and D one.
    void keep_season_2022() const {
        keep("2022-07-01T08:00:00Z",
             {forecast(2022, "A", 0.03, 0.5, 0.25, 1.0, 0), forecast(2022, "B", 0.10, 0.4, 0.15, 1.1, 0),
              forecast(2022, "C", 0.70, 1.5, 0.60, 3.75, 0), forecast(2022, "D", 0.50, 1.0, 0.40, 2.5, 0)});
        keep("2022-07-05T08:00:00Z", {forecast(2022, "A", 0.30, 0.6, 0.30, 1.2, 0)});
        keep("2022-07-07T08:00:00Z", {forecast(2022, "A", 0.60, 1.2, 0.70, 2.0, 1)});
        keep("2022-07-20T08:00:00Z", {forecast(2022, "A", 0.40, 0.9, 0.50, 1.6, 2)});
    }

 private:
    std::filesystem::path folder_;
};

}  // namespace tests
