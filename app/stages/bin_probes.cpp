#include "app/stages/bin_probes.h"

#include <algorithm>
#include <map>
#include <set>

#include <fmt/format.h>

#include "app/stages/test_content.h"
#include "models/decision/bins_at_times.h"
#include "models/decision/limit_rule.h"
#include "models/spoken.h"

namespace app {

namespace {

struct ReadingOfProbe {
    models::Test test;
    TestContent content;
};

models::Stamp time_of_probe(const models::Sample& taken, const models::Test& test) {
    return taken.taken_time.value_or(test.time);
}

/// The readings that count: a laboratory's where there are any; values, else the first bound.
std::vector<ReadingOfProbe> readings_that_count(const std::vector<ReadingOfProbe>& all) {
    const auto keep = [](const std::vector<ReadingOfProbe>& from, auto which) {
        std::vector<ReadingOfProbe> kept;
        std::copy_if(from.begin(), from.end(), std::back_inserter(kept), which);
        return kept.empty() ? from : kept;
    };
    auto kept = keep(all, [](const auto& one) { return one.test.method == models::Method::laboratory; });
    kept = keep(kept, [](const auto& one) { return one.content.reading == models::Reading::value; });
    if (kept.front().content.reading != models::Reading::value) kept.resize(1);
    return kept;
}

models::BinProbe probe_with(const models::Sample& taken, const std::vector<ReadingOfProbe>& all,
                            const ErrorsInUse& errors, double kit_lot_sd) {
    const std::vector<ReadingOfProbe> count = readings_that_count(all);
    const ReadingOfProbe& first = count.front();
    models::BinProbe probe;
    probe.sample = taken.sample;
    probe.bin = taken.bin;
    probe.reading = first.content.reading;
    probe.readings = static_cast<int>(count.size());
    for (const ReadingOfProbe& one : count) {
        probe.tests.push_back(one.test.test);
        probe.don_mg_per_kg += one.content.don_mg_per_kg / static_cast<double>(count.size());
    }
    if (taken.increments && *taken.increments > 0) probe.increments = *taken.increments;
    probe.procedure = first.content.procedure;
    const bool laboratory = first.test.method == models::Method::laboratory;
    probe.error = laboratory ? errors.laboratory : errors.strip;
    if (first.content.standard_uncertainty_mg_per_kg)
        probe.stated_cv = *first.content.standard_uncertainty_mg_per_kg / first.content.don_mg_per_kg;
    if (!laboratory) probe.kit_lot_sd = kit_lot_sd;
    return probe;
}

}  // namespace

std::vector<models::BinProbe> probes_of_bins(const SeasonData& data, const std::vector<models::Move>& moves, int season,
                                             const ErrorsInUse& errors, double kit_lot_sd) {
    std::map<std::size_t, std::vector<ReadingOfProbe>> by_sample;  // by the sample that was taken
    for (const models::Test& recorded : data.tests) {
        if (recorded.reading == models::Reading::invalid) continue;
        const auto s = sample_index(data, recorded.sample);
        if (!s) continue;
        const GrainOfSample grain = grain_of_sample(data, *s);
        if (grain.bin.empty() || !grain.load.empty()) continue;
        const models::Test test = as_decided_on(recorded, data.strips);
        if (models::year_of(time_of_probe(data.samples[grain.taken], test).local_day()) > season) continue;
        by_sample[grain.taken].push_back({test, content_on(models::Basis::as_is, test, with_moisture(data, *s))});
    }
    struct Dated {
        std::chrono::sys_seconds utc;
        models::BinProbe probe;
    };
    std::vector<Dated> dated;
    for (const auto& [taken, readings] : by_sample) {
        models::BinProbe probe = probe_with(data.samples[taken], readings, errors, kit_lot_sd);
        if (probe.bin.empty()) probe.bin = grain_of_sample(data, taken).bin;
        dated.push_back({time_of_probe(data.samples[taken], readings.front().test).utc, std::move(probe)});
    }
    std::stable_sort(dated.begin(), dated.end(), [](const Dated& a, const Dated& b) { return a.utc < b.utc; });
    std::vector<models::BinAtTime> asked;
    std::vector<std::size_t> probed;  // in the order of what is asked
    for (std::size_t i = 0; i < dated.size(); ++i) {
        for (std::size_t b = 0; b < data.bins.size(); ++b) {
            if (data.bins[b].bin != dated[i].probe.bin) continue;
            asked.push_back({b, dated[i].utc});
            probed.push_back(i);
        }
    }
    const std::vector<models::BinContent> then = models::contents_at(data.bins, data.loads, moves, asked);
    for (std::size_t k = 0; k < then.size(); ++k) {
        models::BinProbe& probe = dated[probed[k]].probe;
        probe.grain = then[k].by_source();
        probe.layered = then[k].layers.size() > 1 && data.bins[asked[k].bin].draw_off != models::DrawOff::mixed;
    }
    std::vector<models::BinProbe> probes;
    for (Dated& one : dated) probes.push_back(std::move(one.probe));
    return probes;
}

double still_there_t(const models::BinProbe& probe, const models::BinContent& content) {
    std::set<std::string> sources;
    for (const models::GrainPortion& portion : probe.grain) sources.insert(portion.source);
    double sum_t = 0.0;
    for (const models::GrainPortion& portion : content.by_source())
        if (sources.count(portion.source) != 0) sum_t += portion.mass_t();
    return sum_t;
}

std::vector<ProbedOver> probed_over(const SeasonData& data, const std::vector<models::BinProbe>& probes,
                                    const models::BinLedger& ledger, const std::vector<LimitOfBin>& limits) {
    std::vector<ProbedOver> all;
    const Moistures moistures(data);
    for (const models::BinProbe& probe : probes) {
        const auto sample = sample_index(data, probe.sample);
        const double moisture = sample && data.samples[*sample].moisture_pct
                                    ? *data.samples[*sample].moisture_pct / 100.0
                                    : moistures.median();
        for (std::size_t b = 0; b < data.bins.size(); ++b) {
            if (!limits[b].limit) continue;
            const models::Limit& limit = *limits[b].limit;
            models::OwnResult result;
            result.reading = probe.reading;
            result.don_mg_per_kg = probe.don_mg_per_kg;
            result.moisture = moisture;
            result = models::on_basis(result, limit.basis);
            if (models::outcome_of(result.reading, result.don_mg_per_kg, limit) != models::LimitOutcome::breaks)
                continue;
            const double mass_t = still_there_t(probe, ledger.bins[b]);
            if (!(mass_t > 0.0)) continue;
            all.push_back({probe.sample, probe.tests.front(), probe.bin, data.bins[b].bin, mass_t});
        }
    }
    return all;
}

std::string in_words(const ProbedOver& over) {
    if (over.bin == over.probed_bin) return models::phrase("its probe {} is over (test {})", over.sample, over.test);
    return models::phrase("{:.1f} t in it lay in {} when its probe {} was over (test {})", over.mass_t, over.probed_bin,
                          over.sample, over.test);
}

std::string in_words(const models::ProbeNews& news) {
    const std::string who = models::phrase("probe {} of bin {}", news.sample, news.bin);
    const auto range = [](double mean, double low, double high) {
        return models::phrase("{} ({} to {})", models::content_in_words(mean), models::content_in_words(low),
                              models::content_in_words(high));
    };
    switch (news.what) {
        case models::ProbeNews::What::counted:
            return models::phrase("{}: by its loads the bin held {} mg/kg, with the probe {}", who,
                                  range(news.before_mg_per_kg, news.before_low90, news.before_high90),
                                  range(news.after_mg_per_kg, news.after_low90, news.after_high90));
        case models::ProbeNews::What::empty_bin:
            return models::phrase("{} counts for nothing: by the moves the bin was empty then", who);
        case models::ProbeNews::What::unknown_grain:
            return models::phrase("{} does not count: nothing is known of {}", who,
                                  news.unknown.empty() ? models::phrase("what lay in it") : news.unknown.front());
        case models::ProbeNews::What::contradicts:
            return models::phrase(
                "{} does not count: it contradicts its loads, which held {} mg/kg; look for a mix-up and probe again",
                who, range(news.before_mg_per_kg, news.before_low90, news.before_high90));
    }
    return "";
}

}  // namespace app
