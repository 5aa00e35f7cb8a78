#include "app/stages/outbound_stage.h"

#include <algorithm>
#include <charconv>
#include <exception>
#include <string_view>
#include <unordered_map>

#include <fmt/format.h>

#include "models/assay/basis.h"
#include "models/decision/limit_rule.h"
#include "models/error.h"
#include "models/nearest_names.h"
#include "models/spatial/parallel.h"
#include "models/spoken.h"

namespace app {

namespace {

double number_of_plan(const std::string& name, const std::string& text) {
    double value = 0.0;
    const auto [end, problem] = std::from_chars(text.data(), text.data() + text.size(), value);
    if (problem != std::errc() || end != text.data() + text.size() || !(value > 0.0) || !(value < 1e9)) {
        throw models::Error(fmt::format("\"{}\" is no {}", text, name), "--buyer-plan",
                            "write a number above 0, as in increments=40,mass_g=3000,portion_g=50,analyses=2");
    }
    return value;
}

int count_of_plan(const std::string& name, const std::string& text) {
    const double value = number_of_plan(name, text);
    if (value != static_cast<int>(value)) {
        throw models::Error(fmt::format("{} {} are not whole", text, name), "--buyer-plan", "write a whole number");
    }
    return static_cast<int>(value);
}

using ColumnOf = std::unordered_map<std::string_view, Eigen::Index>;

/// The contents of a bin's sources on a limit's basis, each at its own moisture, and what a tonne of it counts there:
/// of the thousands that were drawn no more than lie in this bin.
models::SourceDraws on_basis_of(const models::Limit& limit, const BinsView& bins, const ColumnOf& column_of,
                                const std::vector<models::GrainPortion>& portions) {
    models::SourceDraws draws;
    std::vector<Eigen::Index> columns;
    for (const models::GrainPortion& portion : portions) {
        const auto found = column_of.find(portion.source);
        if (found == column_of.end()) continue;
        draws.sources.push_back(portion.source);
        columns.push_back(found->second);
    }
    draws.mg_per_kg = bins.draws.mg_per_kg(Eigen::all, columns);
    if (limit.basis == models::Basis::as_is) return draws;
    draws.weight_per_t.resize(draws.mg_per_kg.cols());
    for (std::size_t k = 0; k < draws.sources.size(); ++k) {
        const double factor = models::convert_basis(1.0, models::Basis::as_is, limit.basis,
                                                    bins.moistures->of(draws.sources[k]).fraction);
        draws.mg_per_kg.col(static_cast<Eigen::Index>(k)) *= factor;
        draws.weight_per_t[static_cast<Eigen::Index>(k)] = 1.0 / factor;
    }
    return draws;
}

BinSold sold_from(const SeasonData& data, const BinsView& bins, const ColumnOf& column_of, std::size_t b,
                  const OutboundAsked& asked, const std::optional<models::Limit>& of_buyer) {
    const models::BinContent& content = bins.ledger.bins[b];
    BinSold sold;
    sold.bin = content.bin;
    sold.content_t = content.mass_t();
    sold.rule = data.bins[b].draw_off;
    sold.limit = of_buyer ? of_buyer : bins.limits[b].limit;
    if (b < bins.plan.bins.size()) sold.closed = bins.plan.bins[b].closed_reason;
    if (!sold.limit) {
        sold.why_not = bins.limits[b].closed.empty()
                           ? models::phrase("it has no limit; --buyer-limit names the buyer's")
                           : bins.limits[b].closed;
        return sold;
    }
    const std::vector<models::GrainPortion> portions = content.by_source();
    const models::SourceDraws draws = on_basis_of(*sold.limit, bins, column_of, portions);
    const std::vector<std::string> unknown = models::sources_without_draws(portions, draws);
    if (!unknown.empty()) {
        sold.why_not = unknown.size() > 1
                           ? models::phrase("nothing is known of {} and {} more", unknown.front(), unknown.size() - 1)
                           : models::phrase("nothing is known of {}", unknown.front());
        return sold;
    }
    for (const models::DrawOff drawn : models::ways_of_drawing(sold.rule, content.order_known)) {
        auto way = models::outbound_of_bin(content, asked.lot_t, drawn, draws, *sold.limit, asked.buyer);
        if (!way) continue;
        sold.ways.push_back(std::move(*way));
        if (sold.ways.back().rejected_lots > sold.ways[sold.worst].rejected_lots) sold.worst = sold.ways.size() - 1;
    }
    return sold;
}

}  // namespace

models::SamplingPlan buyer_plan_from_text(const std::string& text, models::SamplingPlan plan) {
    std::size_t from = 0;
    while (from <= text.size()) {
        const std::size_t comma = std::min(text.find(',', from), text.size());
        const std::string part = text.substr(from, comma - from);
        from = comma + 1;
        const std::size_t mark = part.find('=');
        const std::string name = part.substr(0, mark);
        const std::string value = mark == std::string::npos ? "" : part.substr(mark + 1);
        if (name == "increments") {
            plan.increments = count_of_plan(name, value);
        } else if (name == "samples") {
            plan.samples = count_of_plan(name, value);
        } else if (name == "portions") {
            plan.portions = count_of_plan(name, value);
        } else if (name == "analyses") {
            plan.analyses = count_of_plan(name, value);
        } else if (name == "mass_g") {
            plan.sample_mass_g = number_of_plan(name, value);
        } else if (name == "portion_g") {
            plan.portion_g = number_of_plan(name, value);
        } else {
            throw models::Error(fmt::format("\"{}\" is no part of a buyer's plan", part), "--buyer-plan",
                                models::mend_of_unknown_name(
                                    name, {"samples", "increments", "mass_g", "portions", "portion_g", "analyses"},
                                    "write for example increments=40,mass_g=3000,portion_g=50,analyses=2"));
        }
    }
    return plan;
}

OutboundView outbound_of_bins(const SeasonData& data, const BinsView& bins, int season, const OutboundAsked& asked) {
    OutboundView out;
    std::vector<std::string> names;
    for (const models::Bin& bin : data.bins) names.push_back(bin.bin);
    if (!asked.from.empty() && std::find(names.begin(), names.end(), asked.from) == names.end()) {
        throw models::Error("there is no bin \"" + asked.from + "\"", "--from",
                            models::mend_of_unknown_name(asked.from, names, "lodicule export STORE bins --out -"));
    }
    std::optional<models::Limit> of_buyer;
    if (!asked.limit.empty()) of_buyer = limit_for_season(data, asked.limit, season);
    std::vector<std::size_t> sold;
    for (std::size_t b = 0; b < data.bins.size(); ++b) {
        if (!asked.from.empty() && data.bins[b].bin != asked.from) continue;
        if (bins.ledger.bins[b].mass_g() != 0) sold.push_back(b);
    }
    ColumnOf column_of;
    for (std::size_t k = 0; k < bins.draws.sources.size(); ++k)
        column_of[bins.draws.sources[k]] = static_cast<Eigen::Index>(k);
    out.bins.resize(sold.size());
    std::vector<std::exception_ptr> failed(sold.size());  // the first of the table is told, whoever came first
    models::parallel_blocks(static_cast<long long>(sold.size()), models::threads_to_use(asked.threads),
                            [&](long long i) {
                                const auto k = static_cast<std::size_t>(i);
                                try {
                                    out.bins[k] = sold_from(data, bins, column_of, sold[k], asked, of_buyer);
                                } catch (...) {
                                    failed[k] = std::current_exception();
                                }
                            });
    for (const std::exception_ptr& why : failed)
        if (why) std::rethrow_exception(why);
    if (!asked.from.empty() && out.bins.empty())
        throw models::Error(models::phrase("bin {} is empty, so no lot can leave it", asked.from), "--from",
                            models::phrase("name another bin"));
    for (std::string& sentence : models::extrapolations(asked.buyer.plan, {}, asked.buyer.error)) {
        if (!sentence.empty() && sentence.back() == '.') sentence.pop_back();
        out.notes.push_back(std::move(sentence));
    }
    return out;
}

}  // namespace app
