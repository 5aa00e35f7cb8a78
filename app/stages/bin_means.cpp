#include "app/stages/bin_means.h"

#include <algorithm>
#include <map>
#include <set>

#include "models/spatial/parallel.h"

namespace app {

BinMeans::BinMeans(const SeasonData& data, const ContaminationView& view, const models::BinLedger& ledger,
                   const models::SourceDraws& openings, int draws, std::filesystem::path file, std::string fit_key)
    : view_(view), openings_(openings), file_(std::move(file)), fit_key_(std::move(fit_key)) {
    std::map<std::string, const models::Bin*> bin_named;
    for (const models::Bin& bin : data.bins) bin_named[bin.bin] = &bin;
    for (const models::BinContent& content : ledger.bins) {
        OfBin& of = bins_.emplace_back();
        of.bin = content.bin;
        for (const models::GrainPortion& portion : content.by_source()) {
            if (portion.mass_g == 0) continue;
            Grain grain;
            grain.mass_t = portion.mass_t();
            KeyOf& key = of.key;
            key.add(portion.source).add(portion.mass_g);
            const auto load = data.load_by_name.find(portion.source);
            if (load != data.load_by_name.end() && load->second < view.load_of.size())
                grain.load = view.load_of[load->second];
            if (grain.load) {  // of untested grain the draws are counted by the place among the loads
                key.add(static_cast<std::int64_t>(*grain.load));
                for (const models::GrainShare& part : view.input.loads[*grain.load].parts)
                    key.add(static_cast<std::int64_t>(part.field_season)).add(part.share);
            } else {
                const auto opening = std::find(openings.sources.begin(), openings.sources.end(), portion.source);
                if (opening == openings.sources.end()) of.known = false;
                grain.opening = opening - openings.sources.begin();
                key.add(bin_named[of.bin]->opening_mean_mg_per_kg).add(bin_named[of.bin]->opening_sd_mg_per_kg);
                // Grain of another bin's opening may have been brought here.
                for (const models::Bin& bin : data.bins)
                    if (models::opening_source(bin.bin) == portion.source)
                        key.add(bin.opening_mean_mg_per_kg).add(bin.opening_sd_mg_per_kg);
            }
            grain.key_ends = key.length();
            of.grain.push_back(std::move(grain));
        }
        if (!of.known) of.grain.clear();
    }
    if (file_.empty()) return;
    const auto kept = KeptColumns::open(file_);
    if (!kept || kept->key() != fit_key_ || kept->rows() != draws) return;
    for (OfBin& of : bins_) {
        const auto upto = kept->says().find(of.bin);
        if (upto == kept->says().end() || !upto->is_array() || upto->size() != 2) continue;
        const auto &loads = upto->at(0), &key = upto->at(1);
        if (!loads.is_number_unsigned() || !key.is_string()) continue;
        const auto summed = loads.get<std::size_t>();
        if (summed == 0 || summed > of.grain.size()) continue;
        if (of.key.sha256_of_first(of.grain[summed - 1].key_ends) != key.get<std::string>()) continue;
        auto sum = kept->column(of.bin);
        if (!sum) continue;
        of.sum = std::move(*sum);
        of.summed = summed;
    }
}

std::vector<std::size_t> BinMeans::loads_missing() const {
    std::set<std::size_t> missing;
    for (const OfBin& of : bins_)
        for (std::size_t i = of.summed; i < of.grain.size(); ++i)
            if (of.grain[i].load) missing.insert(*of.grain[i].load);
    return {missing.begin(), missing.end()};
}

std::vector<std::optional<Eigen::VectorXd>> BinMeans::means(const GrainFit& fit, int threads) {
    std::vector<std::optional<Eigen::VectorXd>> means(bins_.size());
    std::vector<char> moved(bins_.size(), 0);
    models::parallel_blocks(static_cast<long long>(bins_.size()), models::threads_to_use(threads), [&](long long b) {
        OfBin& of = bins_[static_cast<std::size_t>(b)];
        if (of.grain.empty()) return;
        if (of.summed == 0) of.sum = Eigen::VectorXd::Zero(fit.worlds.draws);
        moved[static_cast<std::size_t>(b)] = of.summed < of.grain.size();
        for (; of.summed < of.grain.size(); ++of.summed) {
            const Grain& grain = of.grain[of.summed];
            if (grain.load)
                of.sum += grain.mass_t * fit.worlds.load(view_.input, *grain.load);
            else
                of.sum += grain.mass_t * openings_.mg_per_kg.col(grain.opening);
        }
        double tonnes = 0.0;
        for (const Grain& grain : of.grain) tonnes += grain.mass_t;
        if (tonnes > 0.0) means[static_cast<std::size_t>(b)] = fit.as_it_counts(of.sum / tonnes);
    });
    if (file_.empty() || std::find(moved.begin(), moved.end(), 1) == moved.end()) return means;
    nlohmann::json says = nlohmann::json::object();
    std::vector<NamedColumn> columns;
    for (const OfBin& of : bins_) {
        if (of.grain.empty()) continue;
        says[of.bin] = {of.grain.size(), of.key.sha256()};
        columns.emplace_back(of.bin, &of.sum);
    }
    keep_columns(file_, fit_key_, says, std::move(columns));
    return means;
}

}  // namespace app
