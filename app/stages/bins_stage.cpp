#include "app/stages/bins_stage.h"

#include <algorithm>
#include <cmath>
#include <iterator>
#include <map>
#include <set>

#include <fmt/format.h>

#include "app/stages/order_stage.h"
#include "models/assay/basis.h"
#include "models/decision/limit_rule.h"
#include "models/error.h"
#include "models/nearest_names.h"

namespace app {

namespace {

std::string crop_word(const std::optional<models::Crop>& crop) {
    if (!crop) return "wheat";
    switch (*crop) {
        case models::Crop::wheat:
            return "wheat";
        case models::Crop::durum:
            return "durum";
        case models::Crop::barley:
            return "barley";
        case models::Crop::oats:
            return "oats";
        case models::Crop::maize:
            return "maize";
        case models::Crop::rye:
            return "rye";
        case models::Crop::triticale:
            return "triticale";
    }
    return "";
}

/// Every valid result of a load's own samples.
std::vector<models::OwnResult> results_of_load(const SeasonData& data, const std::string& load) {
    std::vector<models::OwnResult> results;
    for (const models::Test& test : data.tests) {
        if (test.reading == models::Reading::invalid) continue;
        const auto s = sample_index(data, test.sample);
        if (!s || data.samples[*s].load != load) continue;
        const models::Sample& sample = data.samples[*s];
        double don = test.don_mg_per_kg;
        if (test.basis != models::Basis::as_is && sample.moisture_pct) {
            don = models::convert_basis(don, test.basis, models::Basis::as_is, *sample.moisture_pct / 100.0);
        }
        results.push_back({test.test, test.reading, don, test.method});
    }
    return results;
}

/// The limit as grain at that moisture meets it: contents are kept as is, and a limit on dry matter or at 12 % is the
/// same bound on other numbers.
models::Limit limit_as_is(models::Limit limit, double moisture, std::vector<std::string>& notes) {
    if (limit.basis == models::Basis::as_is) return limit;
    const double as_is = models::convert_basis(limit.limit_mg_per_kg, limit.basis, models::Basis::as_is, moisture);
    notes.push_back(fmt::format("limit {} speaks of {}; for grain of {:.1f} % moisture it is {:.3g} mg/kg as is",
                                limit.limit_id, limit.basis == models::Basis::dry ? "dry matter" : "12 % moisture",
                                moisture * 100.0, as_is));
    limit.limit_mg_per_kg = as_is;
    limit.basis = models::Basis::as_is;
    return limit;
}

/// The limit that the bin names. One that is not there, or not in force at this harvest, closes the bin with the reason
/// and leaves the others as they are.
void give_limit(models::BinForPlan& bin, const SeasonData& data, models::LocalDay day, double moisture,
                std::vector<std::string>& notes) {
    const std::string& id = bin.bin.limit_id;
    const bool needs_one = bin.bin.purpose == models::Purpose::food || bin.bin.purpose == models::Purpose::feed;
    const auto close = [&bin](std::string reason) {
        bin.closed = true;
        bin.closed_reason = std::move(reason);
    };
    if (id.empty()) {
        if (needs_one) close("it has no limit_id, and grain for food or feed needs one");
        return;
    }
    const auto found = std::find_if(data.limits.begin(), data.limits.end(),
                                    [&id](const models::Limit& limit) { return limit.limit_id == id; });
    if (found == data.limits.end()) {
        close(fmt::format("its limit {} is not in the store", id));
    } else if (!models::holds_on(*found, day)) {
        close(fmt::format("its limit {} is not in force at this harvest ({})", id, models::to_text(day)));
    } else {
        bin.limit = limit_as_is(*found, moisture, notes);
    }
}

double usual_moisture(const SeasonData& data) {
    std::vector<double> known;
    for (const models::Load& load : data.loads) {
        if (load.moisture_pct) known.push_back(*load.moisture_pct / 100.0);
    }
    if (known.empty()) return 0.14;
    std::sort(known.begin(), known.end());
    return known[known.size() / 2];
}

models::SourceDraws draws_of_sources(const SeasonData& data, const ContaminationView& view,
                                     const BinsSettings& settings) {
    models::SourceDraws loads;
    if (!view.ranking_only()) {
        const Eigen::MatrixXd all = view.model->draws(settings.draws, settings.seed);
        const auto first_load = static_cast<Eigen::Index>(view.input.field_seasons.size());
        std::vector<Eigen::Index> columns;
        for (std::size_t l = 0; l < data.loads.size(); ++l) {
            if (!view.load_of[l]) continue;
            loads.sources.push_back(data.loads[l].load);
            columns.push_back(first_load + static_cast<Eigen::Index>(*view.load_of[l]));
        }
        loads.mg_per_kg.resize(all.rows(), static_cast<Eigen::Index>(columns.size()));
        for (std::size_t k = 0; k < columns.size(); ++k) {
            loads.mg_per_kg.col(static_cast<Eigen::Index>(k)) = all.col(columns[k]);
        }
    } else {
        loads.mg_per_kg.resize(settings.draws, 0);
    }
    return models::joined(loads, models::opening_draws(data.bins, settings.draws, settings.seed));
}

bool waits(const models::Load& load, const models::BinLedger& ledger) {
    switch (load.status) {
        case models::LoadStatus::arrived:
        case models::LoadStatus::probed:
        case models::LoadStatus::awaiting:
        case models::LoadStatus::directed:
            break;
        case models::LoadStatus::dumped:
        case models::LoadStatus::turned_away:
            return false;
    }
    return ledger.where_is(load.load).empty() && ledger.where_is_in_words(load.load).empty();
}

double mass_of(const models::Load& load) {
    if (load.net_t) return *load.net_t;
    if (load.gross_t && load.tare_t) return *load.gross_t - *load.tare_t;
    return 0.0;
}

}  // namespace

BinsView bins_of_season(const SeasonData& data, const ContaminationView& view, const BinsSettings& settings,
                        const models::Progress& progress) {
    if (data.bins.empty()) {
        throw models::Error("the store has no bins", "", "import a bins table: lodicule import STORE bins FILE.csv");
    }
    BinsView out;
    // As it stood at the end of the season: what moved later is not looked at.
    std::vector<models::Move> moves;
    std::copy_if(
        data.moves.begin(), data.moves.end(), std::back_inserter(moves),
        [&settings](const models::Move& move) { return models::year_of(move.time.local_day()) <= settings.season; });
    out.ledger = models::ledger_of_moves(data.bins, data.loads, moves);
    progress.step("what is in the bins", 0.2);
    out.draws = draws_of_sources(data, view, settings);
    const double moisture = usual_moisture(data);

    models::BinPlanProblem problem;
    std::map<std::string, Eigen::Index> draw_column;
    for (std::size_t k = 0; k < out.draws.sources.size(); ++k) {
        draw_column[out.draws.sources[k]] = static_cast<Eigen::Index>(k);
    }
    std::map<std::string, const models::Load*> load_by_name;
    for (const models::Load& load : data.loads) load_by_name[load.load] = &load;
    if (settings.next) {
        const auto found = load_by_name.find(*settings.next);
        if (found == load_by_name.end()) {
            std::vector<std::string> known, waiting;  // the truck on the scale waits
            for (const auto& [name, load] : load_by_name) (waits(*load, out.ledger) ? waiting : known).push_back(name);
            waiting.insert(waiting.end(), known.begin(), known.end());
            throw models::Error(
                "there is no load \"" + *settings.next + "\"", "--next",
                models::mend_of_unknown_name(*settings.next, waiting, "lodicule export STORE loads --out -"));
        }
        if (!waits(*found->second, out.ledger)) {
            const std::string where = out.ledger.where_is_in_words(*settings.next);
            throw models::Error("load " + *settings.next + " does not wait any more" +
                                (where.empty() ? "" : ": " + where));
        }
    }

    std::vector<Eigen::Index> columns;
    bool all_known = !view.ranking_only();
    for (const models::Load& load : data.loads) {
        if (settings.next ? load.load != *settings.next : season_of_load(data, load) != settings.season) continue;
        if (!waits(load, out.ledger)) continue;
        const double mass_t = mass_of(load);
        if (!(mass_t > 0.0)) {
            out.notes.push_back("load " + load.load + " has no mass yet and is left out of the plan");
            continue;
        }
        models::WaitingGrain grain;
        grain.name = load.load;
        grain.mass_t = mass_t;
        grain.keep_apart = load.keep_apart;
        grain.commodity = crop_word(load.commodity);
        grain.grower = load.supplier;
        grain.results = results_of_load(data, load.load);
        const auto column = draw_column.find(load.load);
        if (all_known && column == draw_column.end()) {
            out.notes.push_back("load " + load.load +
                                " is no wheat, so nothing is known of it and it is left out of the plan");
            continue;
        }
        if (column != draw_column.end()) columns.push_back(column->second);
        out.waiting.push_back(load.load);
        problem.grain.push_back(std::move(grain));
    }
    if (all_known) {
        problem.draws_mg_per_kg.resize(out.draws.mg_per_kg.rows(), static_cast<Eigen::Index>(columns.size()));
        for (std::size_t k = 0; k < columns.size(); ++k) {
            problem.draws_mg_per_kg.col(static_cast<Eigen::Index>(k)) = out.draws.mg_per_kg.col(columns[k]);
        }
        problem.buyer = usual_test(*view.model);
    }

    std::set<std::string> after_dumping;
    for (std::size_t b = 0; b < data.bins.size(); ++b) {
        const models::BinContent& content = out.ledger.bins[b];
        models::BinForPlan bin;
        bin.bin = data.bins[b];
        give_limit(bin, data, harvest_day(data, settings.season), moisture, out.notes);
        bin.content_t = content.mass_t();
        if (bin.content_t > bin.bin.capacity_t + 0.05) {
            out.notes.push_back(fmt::format("bin {} holds {:.1f} t and takes {:.1f} t: {:.1f} t more than its capacity",
                                            bin.bin.bin, bin.content_t, bin.bin.capacity_t,
                                            bin.content_t - bin.bin.capacity_t));
        }
        const std::vector<models::GrainPortion> sources = content.by_source();
        if (const auto mean = models::mean_content(sources, out.draws)) bin.content_draws_mg_per_kg = *mean;
        for (const models::GrainPortion& portion : sources) {
            const auto load = load_by_name.find(portion.source);
            if (load == load_by_name.end()) continue;
            if (!load->second->keep_apart.empty()) bin.content_keep_apart = load->second->keep_apart;
            if (!bin.limit) continue;
            // A result over the limit for grain that lies here already: whatever came first, the bin takes nothing
            // more.
            for (const models::OwnResult& result : results_of_load(data, portion.source)) {
                if (models::outcome_of(result.reading, result.don_mg_per_kg, *bin.limit) !=
                    models::LimitOutcome::breaks) {
                    continue;
                }
                bin.closed = true;
                bin.closed_reason = fmt::format("{:.1f} t of load {} lie in it, and its test {} is over the limit",
                                                portion.mass_t(), portion.source, result.test);
                if (after_dumping.insert(portion.source + bin.bin.bin).second) {
                    out.notes.push_back(
                        fmt::format("bin {} is closed: {}; confirm and decide before anything leaves it", bin.bin.bin,
                                    bin.closed_reason));
                }
            }
        }
        problem.bins.push_back(std::move(bin));
    }
    progress.step("bin plan", 0.6);
    out.plan = models::plan_bins(problem);
    const std::vector<std::string> broken = models::broken_rules(problem, out.plan);
    if (!broken.empty()) throw models::Error("the plan breaks a rule and is not shown: " + broken.front());
    progress.step("bin plan", 1.0);
    return out;
}

}  // namespace app
