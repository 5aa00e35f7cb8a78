// What probes of bins say of the fields that their grain came from.
#include "app/stages/probed_fields.h"

#include <cmath>
#include <string>
#include <tuple>
#include <vector>

#include <catch2/catch.hpp>

namespace {

models::Stamp on_day(int day) {
    return *models::parse_stamp("2026-07-" + std::to_string(day) + "T12:00:00+02:00");
}

/// Wheat on A, B and C, a composite of 0.5 mg/kg of each; a load of 20 t of A and one of 10 t of B in bin S, and a
/// probe of it.
struct ProbedBin {
    app::SeasonData data;

    explicit ProbedBin(double probe_reads, int samples_each = 1) {
        data.seasons = {2026};
        for (const char* name : {"A", "B", "C"}) {
            models::CropRecord crop;
            crop.field = name;
            crop.season = 2026;
            data.crops_by_field[name].push_back(data.crops.size());
            data.crops.push_back(crop);
            for (int i = 0; i < samples_each; ++i)
                tested("S" + std::string(name) + std::to_string(i), 0.5, 10).field = name;
        }
        models::Bin bin;
        bin.bin = "S";
        bin.capacity_t = 100.0;
        data.bins.push_back(bin);
        for (const auto& [name, field, mass_t] : {std::tuple{"LA", "A", 20.0}, std::tuple{"LB", "B", 10.0}}) {
            models::Load load;
            load.load = name;
            load.net_t = mass_t;
            load.time = on_day(10);
            load.parts.push_back({field, "", "", 1.0});
            data.load_by_name[name] = data.loads.size();
            data.loads.push_back(load);
            models::Move move;
            move.move = "M" + std::string(name);
            move.from = name;
            move.to = "S";
            move.mass_t = mass_t;
            move.time = on_day(11);
            data.moves.push_back(move);
        }
        models::Sample& probe = tested("SP", probe_reads, 12);  // after those of the fields by name, too
        probe.bin = "S";
        probe.stage = models::Stage::bin;
    }

    models::Sample& tested(const std::string& sample, double reads, int day) {
        models::Test test;
        test.test = "T" + sample;
        test.sample = sample;
        test.don_mg_per_kg = reads;
        test.time = on_day(day);
        data.tests.push_back(test);
        models::Sample taken;
        taken.sample = sample;
        taken.kind = models::SampleKind::composite;
        taken.taken_time = on_day(day);
        taken.increments = 10;
        data.samples.push_back(taken);
        return data.samples.back();
    }

    /// The whole: fit, then probes.
    struct Seen {
        app::ContaminationView view;
        app::ProbedFields probed;
        models::Content before(std::size_t field) const { return view.model->field_season(field).value(); }
        models::Content after(std::size_t field) const { return probed.content(*view.model, field); }
        double moved(std::size_t field) const { return std::log(after(field).median / before(field).median); }
        bool noted(const std::string& words) const {
            for (const std::string& note : probed.notes())
                if (note.find(words) != std::string::npos) return true;
            return false;
        }
    };
    Seen seen(models::Basis basis = models::Basis::as_is) const {
        app::ContaminationSettings settings;
        settings.season = 2026;
        settings.basis = basis;
        Seen out{app::contamination_of_season(data, {}, settings), {}};
        out.probed = app::ProbedFields(data, out.view, settings);
        return out;
    }
};

/// sd of ln content, of a law whose 90 % interval this is.
double log_sd(const models::Content& content) {
    return std::log(content.high90 / content.low90) / (2.0 * 1.6448536269514722);
}

}  // namespace

TEST_CASE("a probe of a bin moves the fields whose loads lay there, the one with more of the grain further") {
    const auto seen = ProbedBin(0.9, 6).seen();
    CHECK(seen.moved(0) > 0.05);
    CHECK(seen.moved(1) > 0.01);
    CHECK(seen.moved(0) > seen.moved(1));
    CHECK(seen.moved(2) == 0.0);  // C: no grain of it was there
    CHECK(seen.probed.probes_of(0) == std::vector<std::string>{"SP"});
    CHECK(seen.probed.probes_of(2).empty());
    CHECK(seen.noted("probe SP of bin S: by its loads the bin held"));
    CHECK(seen.noted("it counts for A, B"));
    // A chance of being over follows, and the numbers of one law stand in order.
    const double over = seen.probed.exceedance(*seen.view.model, 0, 0.75);
    CHECK(over > seen.view.model->exceedance(0, 0.75).value() + 0.02);
    const models::Content a = seen.after(0);
    CHECK(a.low90 < a.low50);
    CHECK(a.low50 < a.median);
    CHECK(a.median < a.high50);
    CHECK(a.high50 < a.high90);
    CHECK(log_sd(a) < log_sd(seen.before(0)));
}

TEST_CASE("a probe of a bin with one load says of its field what a sample of that load says to the model") {
    // The same reading of the same grain by two ways: weights on the draws of a fit without it, and a fit with it.
    ProbedBin bin(0.8, 4);
    bin.data.moves.pop_back();  // B's load stays outside
    const auto by_weights = bin.seen();
    ProbedBin load(0.8, 4);
    load.data.samples.back().bin = "";
    load.data.samples.back().stage = models::Stage::truck;
    load.data.samples.back().load = "LA";
    const auto by_model = load.seen();
    // 20000 draws know a median to 0.003 of ln; the Gaussian sites of the model are the rest. Of the other fields the
    // model learns something, too, by the season and the kit lot; what weighs draws leaves them as they are.
    CHECK(std::log(by_weights.after(0).median / by_model.before(0).median) == Approx(0.0).epsilon(0.0).margin(0.03));
    CHECK(log_sd(by_weights.after(0)) == Approx(log_sd(by_model.before(0))).epsilon(0.0).margin(0.03));
    CHECK(by_weights.moved(0) > 0.05);
}

TEST_CASE("what came into the bin after its probe has no part in what it says") {
    ProbedBin later(0.9, 6);
    later.data.moves.back().time = on_day(13);
    const auto seen = later.seen();
    CHECK(seen.moved(0) > 0.05);
    CHECK(seen.moved(1) == 0.0);
    CHECK(seen.probed.probes_of(1).empty());
}

TEST_CASE("a field on dry matter moves as it does as is") {
    ProbedBin bin(0.9, 6);
    for (models::Load& load : bin.data.loads) load.moisture_pct = 14.0;
    for (models::Sample& sample : bin.data.samples) sample.moisture_pct = 14.0;
    const auto as_is = bin.seen(), dry = bin.seen(models::Basis::dry);
    CHECK(dry.before(0).median > 1.1 * as_is.before(0).median);  // other numbers of the same grain
    CHECK(dry.moved(0) == Approx(as_is.moved(0)).epsilon(0.0).margin(0.01));
}

TEST_CASE("a probe that contradicts its loads moves no field and is told") {
    const auto seen = ProbedBin(9.0, 6).seen();
    for (const std::size_t field : {0U, 1U, 2U}) CHECK(seen.moved(field) == 0.0);
    CHECK(seen.noted("probe SP of bin S does not count: it contradicts its loads"));
}

TEST_CASE("a probe of grain that nobody knows moves no field and says which grain") {
    ProbedBin opening(0.9, 6);
    opening.data.bins[0].opening_mass_t = 5.0;  // and no content of it
    const auto seen = opening.seen();
    CHECK(seen.moved(0) == 0.0);
    CHECK(seen.noted("does not count: nothing is known of"));
}

TEST_CASE("what is wrong with a bin leaves the fields as they are and is told") {
    ProbedBin bin(0.9, 6);
    bin.data.bins[0].opening_mass_t = 5.0;
    bin.data.bins[0].opening_mean_mg_per_kg = -1.0;
    bin.data.bins[0].opening_sd_mg_per_kg = 0.1;
    const auto seen = bin.seen();
    CHECK(seen.moved(0) == 0.0);
    CHECK(seen.noted("no probe of a bin counts for a field: "));
    CHECK(seen.noted("write 0 or more for both"));
}

TEST_CASE("what a field's number rests on names the probes last") {
    const auto seen = ProbedBin(0.9, 6).seen();
    const auto steps = seen.probed.explain(*seen.view.model, 0).steps;
    CHECK(steps.back().what == "probe of a bin with its grain: SP");
    CHECK(steps.back().median == seen.after(0).median);
    CHECK(std::log(steps.back().factor) == Approx(seen.moved(0)).epsilon(0.0).margin(1e-12));
    CHECK(seen.probed.explain(*seen.view.model, 2).steps.back().what.find("probe") == std::string::npos);
}

TEST_CASE("a store without bins, and a probe in a season to come, say nothing of a field") {
    ProbedBin none(0.9, 6);
    none.data.bins.clear();
    CHECK_FALSE(none.seen().probed.any());
    ProbedBin next(0.9, 6);
    next.data.samples.back().taken_time = models::parse_stamp("2027-07-12T12:00:00+02:00");
    CHECK_FALSE(next.seen().probed.any());
}
