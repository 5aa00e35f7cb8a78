#include "tests/bench/honesty/record.h"

#include <algorithm>
#include <cmath>
#include <fstream>
#include <ostream>
#include <stdexcept>
#include <utility>

#include <fmt/format.h>
#include <nlohmann/json.hpp>

namespace honesty {

namespace {

nlohmann::json to_json(const Tally& t) {
    return {{"fields", t.fields},
            {"with_don", t.with_don},
            {"held90", t.held90},
            {"held50", t.held50},
            {"held90_with_don", t.held90_with_don},
            {"held90_as_told", t.held90_as_told},
            {"width90", t.width90},
            {"pinball", t.pinball},
            {"loss", t.loss},
            {"expected_loss", t.expected_loss},
            {"brier", t.brier},
            {"predicted", t.predicted},
            {"observed", t.observed},
            {"count", t.count}};
}

Tally tally_from(const nlohmann::json& j) {
    Tally t;
    t.fields = j.at("fields");
    t.with_don = j.at("with_don");
    t.held90 = j.at("held90");
    t.held50 = j.at("held50");
    t.held90_with_don = j.at("held90_with_don");
    t.held90_as_told = j.at("held90_as_told");
    t.width90 = j.at("width90");
    t.pinball = j.at("pinball");
    t.loss = j.at("loss");
    t.expected_loss = j.at("expected_loss");
    t.brier = j.at("brier");
    t.predicted = j.at("predicted");
    t.observed = j.at("observed");
    t.count = j.at("count");
    return t;
}

Record record_from(const nlohmann::json& j) {
    Record r;
    r.seed = j.at("seed");
    r.world = j.at("world");
    r.placement = j.at("placement");
    r.tests = j.at("tests");
    r.season_sd = j.at("season_sd");
    r.field_sd = j.at("field_sd");
    r.region_sd = j.at("region_sd");
    r.range_km = j.at("range_km");
    r.slope = j.at("slope");
    r.ours = tally_from(j.at("ours"));
    if (j.contains("exact")) r.exact = tally_from(j.at("exact"));
    r.notes = j.at("notes").get<std::vector<std::string>>();
    r.doubted = j.at("doubted").get<std::vector<std::string>>();
    r.warned = j.at("warned").get<std::vector<std::string>>();
    r.region_supported = j.at("region_supported");
    r.effective = j.at("effective");
    r.unsettled = j.at("unsettled");
    return r;
}

}  // namespace

void Tally::add(const models::ContaminationModel& model, const std::vector<double>& truth_mg_per_kg,
                std::size_t first) {
    const auto told = [](double mg_per_kg) { return std::max(mg_per_kg, least_told_mg_per_kg); };
    for (std::size_t f = 0; f < truth_mg_per_kg.size(); ++f) {
        const models::Content c = *model.field_season(first + f);
        const double p = *model.exceedance(first + f, limit_mg_per_kg), truth = truth_mg_per_kg[f];
        const bool over = truth > limit_mg_per_kg, held = truth >= c.low90 && truth <= c.high90;
        fields += 1.0;
        held90 += held ? 1.0 : 0.0;
        held50 += truth >= c.low50 && truth <= c.high50 ? 1.0 : 0.0;
        held90_as_told += told(truth) >= told(c.low90) && told(truth) <= told(c.high90) ? 1.0 : 0.0;
        width90 += std::log(told(c.high90) / told(c.low90));
        if (truth > 0.0) {
            with_don += 1.0;
            held90_with_don += held ? 1.0 : 0.0;
        }
        const std::array<std::pair<double, double>, 5> quantiles{
            {{0.05, c.low90}, {0.25, c.low50}, {0.5, c.median}, {0.75, c.high50}, {0.95, c.high90}}};
        for (const auto& [q, at] : quantiles) {
            const double d = std::log(told(truth) / told(at));
            pinball += d > 0.0 ? q * d : (q - 1.0) * d;
        }
        const bool taken = wrong_acceptance * p < 1.0 - p;
        loss += taken ? (over ? wrong_acceptance : 0.0) : (over ? 0.0 : 1.0);
        expected_loss += taken ? wrong_acceptance * p : 1.0 - p;
        brier += (p - over) * (p - over);
        const auto bin = static_cast<std::size_t>(std::min(static_cast<int>(p * 10.0), 9));
        predicted[bin] += p;
        observed[bin] += over;
        count[bin] += 1.0;
    }
}

void Tally::add(const Tally& o) {
    fields += o.fields, with_don += o.with_don;
    held90 += o.held90, held50 += o.held50;
    held90_with_don += o.held90_with_don, held90_as_told += o.held90_as_told;
    width90 += o.width90, pinball += o.pinball, brier += o.brier;
    loss += o.loss, expected_loss += o.expected_loss;
    for (std::size_t b = 0; b < count.size(); ++b) {
        predicted[b] += o.predicted[b];
        observed[b] += o.observed[b];
        count[b] += o.count[b];
    }
}

double Tally::reliability() const {
    double sum = 0.0;
    for (std::size_t b = 0; b < count.size(); ++b)
        if (count[b] > 0.0) sum += std::pow(predicted[b] - observed[b], 2) / count[b];
    return sum / fields;
}

void write(std::ostream& out, const Record& r) {
    nlohmann::json j{{"seed", r.seed},           {"world", r.world},         {"placement", r.placement},
                     {"tests", r.tests},         {"season_sd", r.season_sd}, {"field_sd", r.field_sd},
                     {"region_sd", r.region_sd}, {"range_km", r.range_km},   {"slope", r.slope},
                     {"ours", to_json(r.ours)},  {"notes", r.notes},         {"doubted", r.doubted},
                     {"warned", r.warned},       {"effective", r.effective}, {"region_supported", r.region_supported},
                     {"unsettled", r.unsettled}};
    if (r.exact) j["exact"] = to_json(*r.exact);
    out << j.dump() << '\n' << std::flush;
}

std::vector<Record> read_records(const std::vector<std::string>& files) {
    std::vector<Record> records;
    for (const std::string& file : files) {
        std::ifstream in(file);
        if (!in) throw std::runtime_error(fmt::format("{} cannot be read", file));
        std::string line;
        for (int n = 1; std::getline(in, line); ++n) try {
                records.push_back(record_from(nlohmann::json::parse(line)));
            } catch (const nlohmann::json::exception& e) {
                throw std::runtime_error(fmt::format("{}, line {}: {}", file, n, e.what()));
            }
    }
    return records;
}

}  // namespace honesty
