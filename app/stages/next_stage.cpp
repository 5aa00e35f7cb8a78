#include "app/stages/next_stage.h"

#include <algorithm>
#include <cmath>

#include <fmt/format.h>

#include "app/stages/own_errors.h"
#include "geo/tables/words.h"
#include "models/assay/basis.h"
#include "models/decision/bin_plan_score.h"
#include "models/decision/expected.h"
#include "models/decision/limit_rule.h"
#include "models/error.h"
#include "models/spoken.h"
#include "models/words.h"

namespace app {

namespace {

constexpr double over_capacity_slack_t = 0.05;  // as overfull_bins has it

std::optional<double> cost_of(const SeasonData& data, const char* name) {
    for (const models::Cost& cost : data.costs)
        if (cost.name == name) return cost.value;
    return std::nullopt;
}

class OfOneLoad {
 public:
    OfOneLoad(const SeasonData& data, const BinsView& bins, const models::Load& load, double mass_t)
        : data_(data), bins_(bins), load_(load), mass_t_(mass_t), results_(data, *bins.moistures) {
        const auto found = std::find(bins.draws.sources.begin(), bins.draws.sources.end(), load.load);
        if (found != bins.draws.sources.end()) draws_ = bins.draws.mg_per_kg.col(found - bins.draws.sources.begin());
        grain_.commodity = geo::words::word(load.commodity.value_or(models::Crop::wheat));
        for (std::size_t b = 0; b < data.bins.size(); ++b)
            misplaced_.push_back(
                why_misplaced(data, data.bins[b], bins.limits[b].limit, load, bins.ledger.bins[b].by_source()));
    }
    /// Why it does not belong into a bin; empty where it may lie there.
    const std::string& misplaced(std::size_t b) const { return misplaced_[b]; }

    Eigen::VectorXd content_for(const models::Limit& limit) const {
        if (limit.basis == models::Basis::as_is) return draws_;
        return draws_ *
               models::convert_basis(1.0, models::Basis::as_is, limit.basis, bins_.moistures->of(load_.load).fraction);
    }
    std::optional<double> over(const models::Limit& limit) const {
        if (draws_.size() == 0) return std::nullopt;
        return models::exceedance_of_draws(content_for(limit), limit);
    }
    models::Clearing clearing_for(const models::Limit& limit, std::optional<double> upper_cap) const {
        models::ClearingCaps caps;
        caps.upper_cap = upper_cap;
        return models::clear_grain(results_.of(load_.load), over(limit), limit, caps);
    }
    bool speaks(const models::Limit& limit) const {
        models::BinForPlan bin;
        bin.limit = limit;
        return models::speaks_of(bin, grain_);
    }
    bool has_result() const { return !results_.of(load_.load).empty(); }
    /// Under the mildest food limit here: what is lost where it does not go for food.
    double good_t() const {
        std::optional<models::Limit> mildest;
        for (std::size_t b = 0; b < data_.bins.size(); ++b) {
            const auto& limit = bins_.limits[b].limit;
            if (data_.bins[b].purpose != models::Purpose::food || !limit || !speaks(*limit)) continue;
            if (!mildest || limit->limit_mg_per_kg > mildest->limit_mg_per_kg) mildest = limit;
        }
        return mildest ? mass_t_ * (1.0 - over(*mildest).value_or(1.0)) : 0.0;
    }

    BinChoice choice(std::size_t b, std::optional<double> upper_cap, double wrong_acceptance,
                     double wrong_rejection) const {
        const models::Bin& bin = data_.bins[b];
        const models::BinContent& content = bins_.ledger.bins[b];
        const auto& limit = bins_.limits[b].limit;
        BinChoice out;
        out.bin = bin.bin;
        out.purpose = bin.purpose;
        if (limit) out.clearing = clearing_for(*limit, upper_cap);
        out.against = misplaced(b);
        const double room_t = bin.capacity_t - content.mass_t();
        if (out.against.empty() && mass_t_ > room_t + over_capacity_slack_t)
            out.against = models::phrase("it has room for {:.1f} t", std::max(room_t, 0.0));
        if (out.against.empty() && bin.purpose != models::Purpose::hold && !closed(b).empty())
            out.against = models::phrase("it is closed: {}", closed(b));
        if (out.against.empty() && limit && bin.purpose != models::Purpose::hold &&
            limit->mixing != models::Mixing::allowed && out.clearing.state != models::ClearingState::cleared)
            out.against = out.clearing.in_short;
        if (draws_.size() == 0 || bin.purpose == models::Purpose::hold) return out;
        double loss = limit ? wrong_acceptance * over(*limit).value_or(0.0) * (content.mass_t() + mass_t_) : 0.0;
        if (bin.purpose != models::Purpose::food) loss += wrong_rejection * good_t();
        out.loss = loss;
        return out;
    }
    const std::string& closed(std::size_t b) const {
        static const std::string open;
        return b < bins_.plan.bins.size() ? bins_.plan.bins[b].closed_reason : open;
    }

 private:
    const SeasonData& data_;
    const BinsView& bins_;
    const models::Load& load_;
    double mass_t_;
    ResultsOfLoads results_;
    Eigen::VectorXd draws_;
    models::WaitingGrain grain_;
    std::vector<std::string> misplaced_;  ///< by bin
};

/// What another test of a load is, by what is recorded of it: "a first sample", "the result of W26-30-1".
std::string next_test_of(const SeasonData& data, const std::string& load, bool has_result) {
    if (has_result) return models::phrase("a second sample");
    for (std::size_t s = 0; s < data.samples.size(); ++s) {
        const GrainOfSample grain = grain_of_sample(data, s);
        if (grain.load == load && grain.taken == s) return models::phrase("the result of {}", data.samples[s].sample);
    }
    return models::phrase("a first sample");
}

/// @param over_for  "food": a result is over a limit of that purpose, and the test is asked of the next one
std::string second_in_words(const models::SecondSample& second, const std::string& test, const std::string& over_for,
                            const std::string& purpose, bool in_money) {
    const std::string unit = in_money ? models::phrase("in money") : models::phrase("t");
    const auto number = [](double value) { return fmt::format("{:.1f}", value); };
    const std::string clears = models::chance_in_words(second.clears);
    std::string text = over_for.empty()
                           ? models::phrase("{} would clear it with a chance of {}", test, clears)
                           : models::phrase("{} would clear it for {} with a chance of {}", test, purpose, clears);
    if (second.worth() >= 0.05) {
        text += models::phrase(" and pays: the expected loss falls from {} to {} {}", number(second.loss_now),
                               number(second.loss_after), unit);
    } else {
        const bool rises = second.loss_after - second.loss_now >= 0.05;
        text += rises ? models::phrase(" and does not pay: the expected loss would rise from {} to {} {}",
                                       number(second.loss_now), number(second.loss_after), unit)
                      : models::phrase(" and does not pay: the expected loss is {} {} and stays so",
                                       number(second.loss_now), unit);
    }
    if (!over_for.empty())
        text += models::phrase(
            "; for {} it does not lift a result over the limit, a laboratory's test of the same sample "
            "decides",
            over_for);
    return text;
}

}  // namespace

NextLoad next_load(const SeasonData& data, const BinsView& bins, const std::string& name, bool own_duplicates) {
    const models::Load* load = load_named(data, name);
    if (load == nullptr || !waits(*load, bins.ledger))
        throw models::Error(models::phrase("load {} does not wait", name));
    NextLoad next;
    next.load = name;
    next.mass_t = load->net_t ? *load->net_t : load->gross_t && load->tare_t ? *load->gross_t - *load->tare_t : 0.0;
    for (const models::Assignment& a : bins.plan.assignments)
        if (a.name == name) next.advised = a.bin;
    const auto acceptance = cost_of(data, "wrong_acceptance_per_t"), rejection = cost_of(data, "wrong_rejection_per_t");
    next.in_money = acceptance && rejection;
    const double wrong_acceptance = next.in_money ? *acceptance : 1.0;
    const double wrong_rejection = next.in_money ? *rejection : 1.0;
    const OfOneLoad one(data, bins, *load, next.mass_t);
    for (std::size_t b = 0; b < data.bins.size(); ++b) {
        next.choices.push_back(one.choice(b, bins.upper_cap, wrong_acceptance, wrong_rejection));
        BinChoice& choice = next.choices.back();
        choice.advised = choice.bin == next.advised;
        if (!choice.against.empty()) continue;
        for (const models::GivenAway& given : bins.plan.given_away)
            if (given.name == name && given.bin == choice.bin) choice.given = given.reason;
    }
    std::stable_sort(next.choices.begin(), next.choices.end(), [](const BinChoice& a, const BinChoice& b) {
        if (a.against.empty() != b.against.empty()) return a.against.empty();
        if (a.given.empty() != b.given.empty()) return a.given.empty();
        return a.against.empty() && a.loss.value_or(1e300) < b.loss.value_or(1e300);
    });

    // Another test: for the bin of the best purpose that it is not over for which it is nearest to going into.
    const auto nearest = [&](models::Purpose purpose) {
        std::optional<std::size_t> target;
        for (std::size_t b = 0; b < data.bins.size(); ++b) {
            const auto& limit = bins.limits[b].limit;
            if (data.bins[b].purpose != purpose || !limit || !one.speaks(*limit)) continue;
            if (!one.misplaced(b).empty()) continue;
            if (!target || one.over(*limit).value_or(1.0) < one.over(*bins.limits[*target].limit).value_or(1.0))
                target = b;
        }
        return target;
    };
    const auto state_for = [&](std::size_t b) { return one.clearing_for(*bins.limits[b].limit, bins.upper_cap).state; };
    std::optional<std::size_t> target = nearest(models::Purpose::food);
    if (!target || !one.over(*bins.limits[*target].limit)) return next;
    std::string over_for;
    if (state_for(*target) == models::ClearingState::over) {
        const auto feed = nearest(models::Purpose::feed);
        if (!feed || state_for(*feed) != models::ClearingState::undecided) {
            next.second_says = models::phrase(
                "a second sample does not lift a result over the limit; a laboratory's test of the same sample "
                "decides");
        } else {
            over_for = models::in_words(models::Purpose::food);
            target = feed;
        }
    }
    const models::Limit& limit = *bins.limits[*target].limit;
    models::SecondSampleAsked asked;
    asked.content_mg_per_kg = one.content_for(limit);
    asked.limit = limit;
    asked.now = one.clearing_for(limit, bins.upper_cap).state;
    asked.mass_t = next.mass_t;
    asked.spoils_t = next.mass_t + bins.ledger.bins[*target].mass_t();
    asked.wrong_acceptance_per_t = wrong_acceptance;
    asked.wrong_rejection_per_t = wrong_rejection;
    asked.error = errors_in_use(data, own_duplicates).strip;
    next.second = models::worth_of_second_sample(asked);
    if (next.second_says.empty())
        next.second_says = second_in_words(*next.second, next_test_of(data, name, one.has_result()), over_for,
                                           models::in_words(data.bins[*target].purpose), next.in_money);
    return next;
}

}  // namespace app
