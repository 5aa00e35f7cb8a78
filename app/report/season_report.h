#pragma once

#include <filesystem>
#include <optional>
#include <string>
#include <vector>

#include "models/decision/clearing.h"
#include "models/records.h"

/// The record of a season as a page that anybody can open, print and read aloud: no program, no network, no clock.
namespace app::report {

/// A figure on the page. One of the two is given.
struct Figure {
    std::string title;
    std::string svg;   ///< an <svg> element of our own drawing (drawing::svg_text); set into the page as it is
    std::string png;   ///< the bytes of a picture; set into the page as a data URI
    std::string alt;   ///< what it shows, for those who do not see it
    std::string note;  ///< under it: how to read it
};

/// A field, or a part with its own crop record.
struct FieldRow {
    std::string name, grower, cultivar;
    std::optional<double> area_ha;
    std::string flowering;  ///< "2031-06-04, observed"
    // Disease risk; a probability of field severity >= 10 %, or an index where `risk_is_index`.
    std::optional<double> risk, risk_low, risk_high;
    bool risk_is_index = false;
    std::string risk_note;  ///< "station S2, 6.1 km; 14 hours missing"
    int tests = 0;          ///< valid results behind the content, those of its own
    std::optional<double> median_mg_per_kg, mean_mg_per_kg, low90_mg_per_kg, high90_mg_per_kg;
    std::optional<double> exceedance;
    std::string note;  ///< "no wheat this season", "no DON result in the store: a ranking only"
};

/// A reading as it was written down; nothing is rounded.
struct TestRow {
    std::string test, time;  ///< the stamp as written
    std::string sample;
    models::Stage stage = models::Stage::standing;
    std::string of;  ///< field and part, load or bin
    models::Reading reading = models::Reading::value;
    double don_mg_per_kg = 0.0;
    models::Method method = models::Method::strip;
    models::Basis basis = models::Basis::as_is;
    std::optional<double> standard_uncertainty_mg_per_kg;
    std::string kit_lot;
    std::string chosen_because;      ///< "random", "plan", "risk", "looked bad", "unknown"
    std::string note;                ///< why it is void, what it corrects, what the join had to say
    std::optional<bool> over_limit;  ///< by the limit's own rule; none: cannot be said, or another basis
    bool corrected = false;          ///< a later test stands for it: shown, and counted nowhere
};

struct LoadRow {
    std::string load, time, truck;
    std::string from;  ///< "F07 60 %, F08 40 %", "bought"
    std::optional<double> mass_t;
    std::optional<double> median_mg_per_kg, low90_mg_per_kg, high90_mg_per_kg, exceedance;
    std::optional<models::ClearingState> state;  ///< none: nothing can be said
    std::string reason;
    std::string bin;  ///< where it is, or is advised to go
    bool is_there = false;
    bool waits = false;  ///< neither in a bin nor gone
};

struct BinRow {
    std::string bin;
    models::Purpose purpose = models::Purpose::food;
    std::string limit;  ///< in words; empty: none
    double content_t = 0.0, capacity_t = 0.0;
    std::string holds;  ///< "L03, L07, L11"
    std::optional<double> mean_mg_per_kg, low90_mg_per_kg, high90_mg_per_kg, exceedance, rejection_probability;
    std::string note;
};

/// The chain of records that the store keeps.
struct Chain {
    long long records = 0;
    std::string last_hash;  ///< SHA-256 in hexadecimal
    bool unbroken = false;
    std::string detail;  ///< where it breaks
};

/// Everything that the page says. Whoever has a season fills it; here nothing is computed.
struct SeasonReport {
    int season = 0;
    std::string store;            ///< name of the store's file
    std::string program;          ///< "lodicule 0.1.0"
    std::string limit;            ///< in words, with comparison and rounding; empty: none was asked about
    std::string limit_source;     ///< regulation, contract, or "given by hand"
    bool limit_confirmed = true;  ///< false: from memory, to be checked
    std::optional<double> limit_mg_per_kg;
    models::Basis basis = models::Basis::as_is;
    bool hindsight = false;     ///< results of later seasons were used
    bool ranking_only = false;  ///< no DON result in the store: contents and exceedances are left out
    double load_cap = 0.05;     ///< of clearing, printed with the loads
    std::string risk_model, risk_source, risk_holds_for;
    std::vector<std::string> extrapolated;  ///< where the model's data do not hold a risk: sentences
    std::string structure;                  ///< the verdict on structure within fields, a sentence
    std::vector<std::string> notes;         ///< what was left out or assumed
    std::vector<std::string> what_next;     ///< sentences: what should be done, first things first
    std::vector<Figure> figures;
    std::vector<FieldRow> fields;
    std::vector<TestRow> tests;                 ///< in the order of time
    std::vector<std::string> controls_outside;  ///< sentences: which control failed, which results are in doubt
    std::vector<LoadRow> loads;
    std::vector<BinRow> bins;
    std::optional<Chain> chain;
};

/// The page, complete in itself: styles and figures inside, no script, nothing fetched. UTF-8. Estimates are rounded
/// for people (two digits below 1, one decimal from 1 up), readings stand as they were written. The same report gives
/// the same bytes.
std::string season_report_html(const SeasonReport& report);

/// Writes the page beside and renames it.
/// @throws models::Error  the name does not end in .html; the folder cannot be written
void write_season_report(const SeasonReport& report, const std::filesystem::path& file);

}  // namespace app::report
