#include "app/stages/bins_stage.h"

#include <algorithm>
#include <cmath>
#include <iterator>
#include <map>
#include <set>

#include <fmt/format.h>

#include "app/stages/bin_means.h"
#include "app/stages/bin_prices.h"
#include "app/stages/order_stage.h"
#include "app/stages/standing_zones.h"
#include "geo/tables/words.h"
#include "models/assay/basis.h"
#include "models/counted.h"
#include "models/decision/expected.h"
#include "models/decision/limit_rule.h"
#include "models/error.h"
#include "models/nearest_names.h"
#include "models/spatial/parallel.h"
#include "models/spoken.h"
#include "models/words.h"

namespace app {

namespace {

/// Waiting loads whose samples, or their fields', contradict one another: the reason of each says so, and a note which.
void name_contradictions(const SeasonData& data, const ContaminationView& view,
                         const std::vector<models::Learnt::Contradiction>& contradictions, BinsView& out) {
    if (contradictions.empty()) return;
    std::map<std::string, std::size_t> waiting;  // loads of the model
    for (std::size_t l = 0; l < view.load_of.size(); ++l) {
        const std::string& name = data.loads[l].load;
        if (view.load_of[l] && std::find(out.waiting.begin(), out.waiting.end(), name) != out.waiting.end())
            waiting[name] = *view.load_of[l];
    }
    const auto names = [&](const models::Learnt::Contradiction& found, const std::string& name) {
        const auto load = waiting.find(name);
        return load != waiting.end() &&
               std::find(found.loads.begin(), found.loads.end(), load->second) != found.loads.end();
    };
    const auto say = [&](auto& entries) {
        for (auto& entry : entries) {
            const bool found = std::any_of(contradictions.begin(), contradictions.end(),
                                           [&](const auto& one) { return names(one, entry.name); });
            if (found) {
                if (entry.contradicted) continue;  // said where its state was found
                entry.reason += std::string("; ") + models::spoken(samples_contradict);
                entry.in_short += models::phrase("; its tests contradict");
                entry.contradicted = true;
            }
        }
    };
    say(out.plan.assignments);
    say(out.plan.unplaced);
    for (const models::Learnt::Contradiction& found : contradictions) {
        const bool waits =
            std::any_of(waiting.begin(), waiting.end(), [&](const auto& load) { return names(found, load.first); });
        if (waits) out.notes.push_back(found.sentence.substr(0, found.sentence.size() - 1));  // no stop in notes here
    }
}

/// How limits on another basis meet the grain, said once a limit.
void note_conversion(const BinsView& view, const models::BinPlanProblem& problem, std::vector<std::string>& notes) {
    std::set<std::string> said;
    for (const LimitOfBin& bin : view.limits) {
        if (!bin.limit || bin.limit->basis == models::Basis::as_is || !said.insert(bin.limit->limit_id).second)
            continue;
        std::string assumed;
        for (const models::WaitingGrain& grain : problem.grain) {
            if (grain.kind != models::GrainKind::load) continue;
            if (!view.moistures->of(grain.name).measured) assumed += (assumed.empty() ? "" : ", ") + grain.name;
        }
        notes.push_back(models::phrase(
            "limit {} speaks of grain {}: each load is converted at its own measured moisture, {} at the median of "
            "{:.1f} %",
            bin.limit->limit_id, models::in_words(bin.limit->basis),
            (assumed.empty() ? "" : assumed + ", ") +
                (view.standing.empty() ? "" : models::phrase("standing fields, ")) +
                models::phrase("opening contents and grain found"),
            view.moistures->median() * 100.0));
    }
}

/// Whether the means of bins come from kept sums, and only loads that wait or were probed are drawn.
bool draws_few(const BinsSettings& settings) {
    return settings.next || !settings.kept_bins.empty();
}

/// Loads of the model that the answer speaks of: all, or those that wait and those that were probed.
std::vector<std::size_t> loads_drawn(const SeasonData& data, const ContaminationView& view,
                                     const BinsSettings& settings, const models::BinLedger& ledger,
                                     const std::vector<models::BinProbe>& probes) {
    std::set<std::string> probed;
    for (const models::BinProbe& probe : probes)
        for (const models::GrainPortion& portion : probe.grain) probed.insert(portion.source);
    const GrainThatWaits waiting(ledger);
    std::vector<std::size_t> drawn;
    for (std::size_t l = 0; l < data.loads.size(); ++l) {
        if (l >= view.load_of.size() || !view.load_of[l]) continue;
        const models::Load& load = data.loads[l];
        const bool asked = !draws_few(settings) || load.load == settings.next || probed.count(load.load) != 0 ||
                           (waiting(load) && season_of_load(data, load) == settings.season);
        if (asked) drawn.push_back(l);
    }
    return drawn;
}

/// Results of a load's own samples, as the clearing rule asks for them.
std::vector<models::OwnResult> own_results(const ContaminationView& view, std::size_t load, const SeasonData& data,
                                           const ResultsOfLoads& results, const std::set<std::size_t>& contradicted) {
    std::vector<models::OwnResult> own = results.of(data.loads[load].load);
    const bool of_model = load < view.load_of.size() && view.load_of[load];
    if (of_model && contradicted.count(*view.load_of[load]) != 0)
        for (models::OwnResult& result : own) result.contradicted = true;
    return own;
}

/// Chances that loads are over the limits they lie under; none of those that the model does not know.
/// @param chosen  rows of the draws, as probes of bins left them; empty: all
std::vector<std::optional<double>> chances_of(const std::vector<LoadUnderLimit>& lying, const ContaminationView& view,
                                              const GrainFit& fit, const std::vector<Eigen::Index>& chosen,
                                              const SeasonData& data, const BinsView& bins, int threads) {
    std::vector<std::optional<double>> chances(lying.size());
    models::parallel_blocks(static_cast<long long>(lying.size()), models::threads_to_use(threads), [&](long long i) {
        const LoadUnderLimit& one = lying[static_cast<std::size_t>(i)];
        if (one.load >= view.load_of.size() || !view.load_of[one.load]) return;
        Eigen::VectorXd draws = fit.as_it_counts(fit.worlds.load(view.input, *view.load_of[one.load]));
        if (!chosen.empty()) draws = Eigen::VectorXd(draws(chosen));
        draws *= bins.factor(one.bin, data.loads[one.load].load);
        chances[static_cast<std::size_t>(i)] = models::exceedance_of_draws(draws, one.limit);
    });
    return chances;
}

constexpr double few_draws = 200.0;  // a chance of 5 % is then known to 1.5 %; ours

/// What a probe of a bin says against what lies there now: over its limit, or against all that is known of its loads.
/// Empty where it says nothing of the kind.
std::string why_probes_close(const models::BinContent& content, const std::vector<ProbedOver>& over,
                             const std::vector<models::BinProbe>& probes, const std::vector<models::ProbeNews>& news) {
    for (const ProbedOver& one : over)
        if (one.bin == content.bin) return in_words(one);
    for (std::size_t i = 0; i < news.size(); ++i) {
        if (news[i].what != models::ProbeNews::What::contradicts || news[i].bin != content.bin) continue;
        if (still_there_t(probes[i], content) > 0.0)
            return models::phrase("its probe {} and its loads contradict one another", news[i].sample);
    }
    return "";
}

double mass_of(const models::Load& load) {
    if (load.net_t) return *load.net_t;
    if (load.gross_t && load.tare_t) return *load.gross_t - *load.tare_t;
    return 0.0;
}

/// @throws models::Error  there is no such load, or it is in a bin or gone
void require_waiting(const SeasonData& data, const std::string& name, const GrainThatWaits& waits_now,
                     const models::BinLedger& ledger) {
    const models::Load* load = load_named(data, name);
    if (load == nullptr) {
        std::vector<std::string> known, waiting;  // the truck on the scale waits
        for (const models::Load& other : data.loads) (waits_now(other) ? waiting : known).push_back(other.load);
        std::sort(waiting.begin(), waiting.end());
        std::sort(known.begin(), known.end());
        waiting.insert(waiting.end(), known.begin(), known.end());
        throw models::Error("there is no load \"" + name + "\"", "--next",
                            models::mend_of_unknown_name(name, waiting, "lodicule export STORE loads --out -"));
    }
    if (waits_now(*load)) return;
    const std::string where = ledger.where_is_in_words(name);
    throw models::Error(where.empty() ? models::phrase("load {} does not wait any more", name)
                                      : models::phrase("load {} does not wait any more: {}", name, where));
}

}  // namespace

GrainThatWaits::GrainThatWaits(const models::BinLedger& ledger) {
    for (const models::BinContent& content : ledger.bins)
        for (const models::Layer& layer : content.layers)
            for (const models::GrainPortion& portion : layer.portions) moved_.insert(portion.source);
    for (const models::OutboundLot& lot : ledger.outbound)
        for (const models::GrainPortion& portion : lot.portions) moved_.insert(portion.source);
}

bool GrainThatWaits::operator()(const models::Load& load) const {
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
    return moved_.count(load.load) == 0;
}

bool waits(const models::Load& load, const models::BinLedger& ledger) {
    return GrainThatWaits(ledger)(load);
}

BinsView bins_of_season(const SeasonData& data, const ContaminationView& view, const BinsSettings& settings,
                        const models::Progress& progress) {
    return bins_of_season(
        data, view, settings, [&view](const FitAsked& asked) { return fit_of_model(view, asked); }, progress);
}

BinsView bins_of_season(const SeasonData& data, const ContaminationView& view, const BinsSettings& settings,
                        const AskFit& ask, const models::Progress& progress) {
    if (data.bins.empty()) {
        throw models::Error(models::phrase("the store has no bins"), "",
                            models::phrase("import a bins table: lodicule import STORE bins FILE.csv"));
    }
    BinsView out;
    // As it stood at the end of the season: what moved later is not looked at.
    const auto in_time = [&settings](const models::Move& move) {
        return models::year_of(move.time.local_day()) <= settings.season;
    };
    std::vector<models::Move> earlier;
    const bool all_moves = std::all_of(data.moves.begin(), data.moves.end(), in_time);
    if (!all_moves) std::copy_if(data.moves.begin(), data.moves.end(), std::back_inserter(earlier), in_time);
    const std::vector<models::Move>& moves = all_moves ? data.moves : earlier;
    out.ledger = models::ledger_of_possible_moves(data.bins, data.loads, moves, models::TellMoves::no);
    progress.step(models::phrase("what is in the bins"), 0.2);
    const GrainThatWaits waits_now(out.ledger);
    if (settings.next) require_waiting(data, *settings.next, waits_now, out.ledger);
    std::vector<models::BinProbe> probes =
        probes_of_bins(data, moves, settings.season, errors_in_use(data, settings.own_duplicates), 1.0);

    // What the model is asked for: of one load's advice no more than it needs.
    const models::SourceDraws openings = models::opening_draws(data.bins, settings.draws, settings.seed);
    const std::vector<std::size_t> drawn = loads_drawn(data, view, settings, out.ledger, probes);
    const models::LocalDay harvest = harvest_day(data, settings.season);
    const std::vector<LoadUnderLimit> lying = loads_under_limits(data, out.ledger, harvest);
    // One truck's advice rests on the bins' means, and on single loads there only where their chance closes a bin.
    const bool judges_all = !settings.next || settings.upper_cap;
    std::vector<LoadUnderLimit> judged;
    for (const LoadUnderLimit& one : lying)
        if (judges_all || one.against_advice) judged.push_back(one);
    FitAsked asked;
    asked.draws = settings.draws;
    asked.seed = settings.seed;
    for (const std::size_t l : drawn) asked.loads.push_back(*view.load_of[l]);
    if (settings.ahead) asked.field_seasons = everything_of(view, settings.season).field_seasons;
    std::optional<BinMeans> bin_means;
    if (draws_few(settings)) {
        bin_means.emplace(data, view, out.ledger, openings, settings.draws, settings.kept_bins, settings.fit_key);
        const std::vector<std::size_t> missing = bin_means->loads_missing();
        asked.loads.insert(asked.loads.end(), missing.begin(), missing.end());
    }
    for (const LoadUnderLimit& one : judged)
        if (one.load < view.load_of.size() && view.load_of[one.load]) asked.loads.push_back(*view.load_of[one.load]);
    GrainFit fit = ask(asked);
    out.draws = draws_of_sources(data, view, drawn, openings, fit, settings.threads);
    std::vector<std::optional<Eigen::VectorXd>> mean_of_bin;
    if (bin_means && fit.known) mean_of_bin = bin_means->means(fit, settings.threads);
    for (models::BinProbe& probe : probes)
        if (probe.kit_lot_sd > 0.0) probe.kit_lot_sd = fit.kit_lot_sd;  // strips
    std::vector<Eigen::Index> chosen;  // rows of the draws as they were, by the probes; empty: all
    if (!probes.empty()) {
        models::ProbedDraws probed = models::draws_after_probes(std::move(out.draws), probes);
        out.draws = std::move(probed.draws);
        out.probes = std::move(probed.news);
        if (!probed.chosen.empty()) {
            for (auto& [field, column] : fit.worlds.fields) column = Eigen::VectorXd(column(probed.chosen));
            for (auto& mean : mean_of_bin)
                if (mean) mean = Eigen::VectorXd((*mean)(probed.chosen));
        }
        chosen = std::move(probed.chosen);
        if (probed.effective_draws < few_draws) {
            out.notes.push_back(
                models::phrase("the probes of bins leave the weight of {:.0f} draws of {}: chances are rough",
                               probed.effective_draws, settings.draws));
        }
    }
    if (mean_of_bin.empty())
        for (const models::BinContent& content : out.ledger.bins)
            mean_of_bin.push_back(models::mean_content(content.by_source(), out.draws));
    out.moistures.emplace(data);
    for (const models::Bin& bin : data.bins) out.limits.push_back(limit_of_bin(data, bin, harvest));

    models::BinPlanProblem problem;
    problem.caps.upper_cap = settings.upper_cap;
    out.caps = problem.caps;
    problem.threads = settings.threads;
    std::map<std::string, Eigen::Index> draw_column;
    for (std::size_t k = 0; k < out.draws.sources.size(); ++k) {
        draw_column[out.draws.sources[k]] = static_cast<Eigen::Index>(k);
    }
    const ResultsOfLoads results(data, *out.moistures);
    std::vector<Eigen::Index> columns;
    const bool all_known = fit.known;
    std::set<std::size_t> contradicted;  // loads of the model
    for (const models::Learnt::Contradiction& found : fit.contradictions)
        if (all_known) contradicted.insert(found.loads.begin(), found.loads.end());
    for (const models::Load& load : data.loads) {
        if (load.load != settings.next.value_or("") && season_of_load(data, load) != settings.season) continue;
        if (!waits_now(load)) continue;
        const double mass_t = mass_of(load);
        if (!(mass_t > 0.0)) {
            out.notes.push_back(models::phrase("load {} has no mass yet and is left out of the plan", load.load));
            continue;
        }
        models::WaitingGrain grain;
        grain.name = load.load;
        grain.mass_t = mass_t;
        grain.keep_apart = load.keep_apart;
        grain.commodity = geo::words::word(load.commodity.value_or(models::Crop::wheat));
        grain.grower = load.supplier;
        grain.moisture = out.moistures->of(load.load).fraction;
        grain.results =
            own_results(view, static_cast<std::size_t>(&load - data.loads.data()), data, results, contradicted);
        const auto column = draw_column.find(load.load);
        if (all_known && column == draw_column.end()) {
            out.notes.push_back(models::phrase(
                "load {} is no wheat, so nothing is known of it and it is left out of the plan", load.load));
            continue;
        }
        if (column != draw_column.end()) columns.push_back(column->second);
        out.waiting.push_back(load.load);
        problem.grain.push_back(std::move(grain));
    }
    std::vector<StandingGrain> standing;
    if (settings.ahead) {
        standing = standing_grain(data, view, settings.season, *out.moistures);
        int assumed = 0;
        for (const StandingGrain& field : standing) assumed += field.tonnes_assumed;
        if (!settings.zones.empty()) standing = cut_in_zones(std::move(standing), data, view, settings, out);
        for (const StandingGrain& field : standing) {
            out.standing.push_back(field.grain.name);
            problem.grain.push_back(field.grain);
        }
        if (out.standing.empty()) {
            out.notes.push_back("no wheat field of the season is still to be cut: the plan ahead has no fields");
        } else {
            out.notes.push_back(
                "a field's place is for grain that is as the field's mean; each truck of it is judged again when it "
                "stands on the scale");
        }
        if (assumed > 0) {
            out.notes.push_back(fmt::format("{} without a yield_t_per_ha: the season's median stands in",
                                            models::counted(assumed, "field", "fields")));
        }
    }
    if (all_known) {
        problem.draws_mg_per_kg.resize(out.draws.mg_per_kg.rows(),
                                       static_cast<Eigen::Index>(columns.size() + standing.size()));
        for (std::size_t k = 0; k < columns.size(); ++k) {
            problem.draws_mg_per_kg.col(static_cast<Eigen::Index>(k)) = out.draws.mg_per_kg.col(columns[k]);
        }
        for (std::size_t k = 0; k < standing.size(); ++k) {
            auto column = problem.draws_mg_per_kg.col(static_cast<Eigen::Index>(columns.size() + k));
            column = fit.worlds.fields.at(standing[k].field_season);
            const Eigen::VectorXd& relative = standing[k].relative;
            if (relative.size() == 0) continue;
            column.array() *= (chosen.empty() ? relative : Eigen::VectorXd(relative(chosen))).array();
        }
        problem.buyer = models::reading_law({}, fit.reading, view.strip_error, view.laboratory_error);
    }

    out.chances_judged = all_known && judges_all;
    std::vector<std::optional<double>> chances(judged.size());
    if (all_known) chances = chances_of(judged, view, fit, chosen, data, out, settings.threads);
    std::size_t next_judged = 0;
    for (const LoadUnderLimit& one : lying) {
        const bool asks = judges_all || one.against_advice;
        auto found = why_uncleared(data, one, own_results(view, one.load, data, results, contradicted),
                                   asks ? chances[next_judged++] : std::nullopt, problem.caps);
        if (found) out.uncleared.push_back(std::move(*found));
    }
    for (std::size_t b = 0; b < data.bins.size(); ++b) {
        const models::BinContent& content = out.ledger.bins[b];
        models::BinForPlan bin;
        bin.bin = data.bins[b];
        bin.limit = out.limits[b].limit;
        bin.closed_reason = out.limits[b].closed;
        bin.closed = !bin.closed_reason.empty();
        bin.content_t = content.mass_t();
        const std::vector<models::GrainPortion> sources = content.by_source();
        if (mean_of_bin[b]) bin.content_draws_mg_per_kg = *mean_of_bin[b];
        double water_t = 0.0;
        for (const models::GrainPortion& portion : sources) {
            water_t += portion.mass_t() * out.moistures->of(portion.source).fraction;
        }
        bin.content_moisture = bin.content_t > 0.0 ? water_t / bin.content_t : out.moistures->median();
        out.factors.push_back(
            bin.limit ? models::convert_basis(1.0, models::Basis::as_is, bin.limit->basis, bin.content_moisture) : 1.0);
        for (const models::GrainPortion& portion : sources) {
            const models::Load* load = load_named(data, portion.source);
            if (load == nullptr) continue;
            if (!load->keep_apart.empty()) bin.content_keep_apart = load->keep_apart;
        }
        // Grain that is over lies here already, or was put here against the advice and is not cleared: whatever came
        // first, the bin takes nothing more until that is settled, for what comes on top would thin it.
        for (const UnclearedLoad& load : out.uncleared) {
            if (load.bin != bin.bin.bin || (load.why != UnclearedLoad::Why::over && !load.against_advice)) continue;
            bin.closed = true;
            bin.closed_reason =
                !load.test.empty() ? models::phrase("{:.1f} t of load {} lie in it, and its test {} is over the limit",
                                                    load.mass_t, load.load, load.test)
                : load.why == UnclearedLoad::Why::over
                    ? models::phrase("{:.1f} t of load {} lie in it: {}", load.mass_t, load.load, load.reason)
                    : models::phrase("{:.1f} t of load {} lie in it against the advice and uncleared: {}", load.mass_t,
                                     load.load, load.reason);
            out.notes.push_back(models::phrase("bin {} is closed: {}; confirm and decide before anything leaves it",
                                               bin.bin.bin, bin.closed_reason));
        }
        problem.bins.push_back(std::move(bin));
    }
    out.probed_over = probed_over(data, probes, out.ledger, out.limits);
    for (std::size_t b = 0; b < problem.bins.size(); ++b) {
        models::BinForPlan& bin = problem.bins[b];
        const std::string why = why_probes_close(out.ledger.bins[b], out.probed_over, probes, out.probes);
        if (why.empty()) continue;
        out.notes.push_back(
            models::phrase("bin {} is closed: {}; confirm and decide before anything leaves it", bin.bin.bin, why));
        if (bin.closed) continue;
        bin.closed = true;
        bin.closed_reason = why;
    }
    out.overfull = overfull_bins(data, out.ledger);
    out.misplaced = misplaced_loads(data, out.ledger, harvest);
    for (const models::ImpossibleMove& move : out.ledger.impossible) out.notes.push_back(in_words(move));
    for (const OverfullBin& bin : out.overfull) out.notes.push_back(in_words(bin));
    for (const MisplacedLoad& load : out.misplaced) out.notes.push_back(in_words(load));
    for (const models::FailedControl& control : failed_controls(data, settings.season)) {
        out.notes.push_back(models::in_words(control));
    }
    note_conversion(out, problem, out.notes);
    problem.prices = prices_of_bins(data, problem.bins, out.ledger, out.notes);
    progress.step(models::phrase("bin plan"), 0.6);
    out.plan = models::plan_bins(problem);
    name_contradictions(data, view, fit.contradictions, out);
    const std::vector<std::string> broken = models::broken_rules(problem, out.plan);
    if (!broken.empty()) throw models::Error("the plan breaks a rule and is not shown: " + broken.front());
    if (settings.next) {
        std::erase_if(out.plan.assignments, [&](const models::Assignment& a) { return a.name != *settings.next; });
        std::erase_if(out.plan.unplaced, [&](const models::UnplacedGrain& u) { return u.name != *settings.next; });
    }
    progress.step(models::phrase("bin plan"), 1.0);
    return out;
}

double BinsView::factor(std::size_t bin, const std::string& source) const {
    const auto& limit = limits.at(bin).limit;
    if (!limit || limit->basis == models::Basis::as_is) return 1.0;
    return models::convert_basis(1.0, models::Basis::as_is, limit->basis, moistures->of(source).fraction);
}

}  // namespace app
