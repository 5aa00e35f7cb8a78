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
    models::Clearing clearing_for(const models::Limit& limit, const models::ClearingCaps& caps) const {
        return models::clear_grain(results_.of(load_.load), over(limit), limit, caps);
    }
    bool speaks(const models::Limit& limit) const {
        models::BinForPlan bin;
        bin.limit = limit;
        return models::speaks_of(bin, grain_);
    }
    bool has_result() const { return !results_.of(load_.load).empty(); }
    const std::vector<models::OwnResult>& results() const { return results_.of(load_.load); }
    const Eigen::VectorXd& draws() const { return draws_; }
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

    BinChoice choice(std::size_t b, const models::ClearingCaps& caps, double wrong_acceptance,
                     double wrong_rejection) const {
        const models::Bin& bin = data_.bins[b];
        const models::BinContent& content = bins_.ledger.bins[b];
        const auto& limit = bins_.limits[b].limit;
        BinChoice out;
        out.bin = bin.bin;
        out.purpose = bin.purpose;
        if (limit) out.clearing = clearing_for(*limit, caps);
        const bool holds = bin.purpose == models::Purpose::hold;
        out.against = misplaced(b);
        out.misplaced = !out.against.empty();
        out.room_t = std::max(bin.capacity_t - content.mass_t(), 0.0);
        out.too_small = mass_t_ > bin.capacity_t - content.mass_t() + over_capacity_slack_t;
        if (!holds) out.closed_because = closed(b);
        if (limit) out.limit = models::number_in_words(*limit);
        out.not_cleared = !holds && (!limit || (limit->mixing != models::Mixing::allowed &&
                                                out.clearing.state != models::ClearingState::cleared));
        if (out.against.empty() && out.too_small) out.against = models::phrase("it has room for {:.1f} t", out.room_t);
        if (out.against.empty() && !out.closed_because.empty())
            out.against = models::phrase("it is closed: {}", out.closed_because);
        if (out.against.empty() && limit && out.not_cleared) out.against = out.clearing.in_short;
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

/// A sample of the load that nobody has read; empty: none.
std::string unread_sample_of(const SeasonData& data, const std::string& load) {
    for (std::size_t s = 0; s < data.samples.size(); ++s) {
        const GrainOfSample grain = grain_of_sample(data, s);
        if (grain.load != load || grain.taken != s) continue;
        const bool read = std::any_of(data.tests.begin(), data.tests.end(), [&](const models::Test& test) {
            if (test.reading == models::Reading::invalid) return false;
            const auto of = sample_index(data, test.sample);
            return of && grain_of_sample(data, *of).taken == s;
        });
        if (!read) return data.samples[s].sample;
    }
    return "";
}

/// The sample of the result that is highest; empty where none is named.
std::string highest_sample(const std::vector<models::OwnResult>& results) {
    const models::OwnResult* highest = nullptr;
    for (const models::OwnResult& result : results)
        if (!result.sample.empty() && (highest == nullptr || result.don_mg_per_kg > highest->don_mg_per_kg))
            highest = &result;
    return highest == nullptr ? "" : highest->sample;
}

/// What another test of a load is, by what is recorded of it: "a first sample", "the result of W26-30-1".
std::string next_test_of(const NextLoad& next) {
    if (!next.unread_sample.empty()) return models::phrase("the result of {}", next.unread_sample);
    return next.has_result ? models::phrase("a second sample") : models::phrase("a first sample");
}

std::string loss_number(double loss) {
    return models::said(std::abs(loss) < 9.95 ? fmt::format("{:.1f}", loss) : fmt::format("{:.0f}", loss));
}
/// "23 t", "184 in the currency of the costs"
std::string loss_in_words(double loss, bool in_money) {
    const std::string number = loss_number(loss);
    return in_money ? models::phrase("{} in the currency of the costs", number) : models::phrase("{} t", number);
}

constexpr double hardly_clears = 0.05;  // a test that clears less often is not taken for its clearing; ours
constexpr double least_worth = 0.05;    // tonnes, or money: what is less is no difference

/// Why a test is asked of feed and not of food.
enum class NotForFood { no, over, hardly };

std::string second_in_words(const NextLoad& next, models::ClearingState now, NotForFood instead,
                            const std::string& purpose) {
    const models::SecondSample& second = *next.second;
    const std::string test = next_test_of(next), clears = models::chance_in_words(second.clears);
    const std::string before = loss_number(second.loss_now), after = loss_in_words(second.loss_after, next.in_money);
    const std::string cost = next.test_cost ? models::phrase(", and it costs {}", loss_number(*next.test_cost)) : "";
    std::string text;
    if (now == models::ClearingState::cleared && !next.second_pays) {
        text = models::phrase("{} is not needed: it is cleared, and would read over with a chance of {}", test,
                              models::chance_in_words(second.over));
    } else if (now != models::ClearingState::cleared && second.clears < hardly_clears) {
        // One that was taken is read, whatever it is likely to say.
        text = !next.unread_sample.empty() ? models::phrase("{} clears it with a chance of {} only", test, clears)
               : instead == NotForFood::no
                   ? models::phrase("{} would hardly help: it clears it with a chance of {} only", test, clears)
                   : models::phrase("{} would hardly help: it clears it for {} with a chance of {} only", test, purpose,
                                    clears);
    } else {
        text = instead == NotForFood::no
                   ? models::phrase("{} would clear it with a chance of {}", test, clears)
                   : models::phrase("{} would clear it for {} with a chance of {}", test, purpose, clears);
        if (next.second_pays)
            text += models::phrase(" and pays: the expected loss falls from {} to {}{}", before, after, cost);
        else if (second.worth() >= least_worth)
            text +=
                models::phrase(" and does not pay: the expected loss falls from {} to {} only{}", before, after, cost);
        else if (second.worth() <= -least_worth)
            text += models::phrase(" and does not pay: the expected loss would rise from {} to {}", before, after);
        else
            text += models::phrase(" and does not pay: the expected loss is {} and stays so", after);
    }
    if (instead == NotForFood::over)
        text += models::phrase(
            "; for {} it does not lift a result over the limit, a laboratory's test of the same sample "
            "decides",
            models::in_words(models::Purpose::food));
    return text;
}

/// The value of another test, for the bin of the best purpose that the load is not over for for which it is nearest to
/// going into.
void add_second(const SeasonData& data, const BinsView& bins, const OfOneLoad& one, bool own_duplicates,
                double wrong_acceptance, double wrong_rejection, NextLoad& next) {
    const auto is_open = [&](std::size_t b) {
        return one.closed(b).empty() &&
               next.mass_t <= data.bins[b].capacity_t - bins.ledger.bins[b].mass_t() + over_capacity_slack_t;
    };
    const auto nearest = [&](models::Purpose purpose) {
        std::optional<std::size_t> target;
        for (std::size_t b = 0; b < data.bins.size(); ++b) {
            const auto& limit = bins.limits[b].limit;
            if (data.bins[b].purpose != purpose || !limit || !one.speaks(*limit)) continue;
            if (!one.misplaced(b).empty()) continue;
            const double over = one.over(*limit).value_or(1.0);
            const double before = target ? one.over(*bins.limits[*target].limit).value_or(1.0) : 2.0;
            // Of bins under one limit the one that could take it.
            if (over < before || (!(over > before) && is_open(b) && !is_open(*target))) target = b;
        }
        return target;
    };
    const auto state_for = [&](std::size_t b) { return one.clearing_for(*bins.limits[b].limit, bins.caps).state; };
    std::optional<std::size_t> target = nearest(models::Purpose::food);
    if (!target || !one.over(*bins.limits[*target].limit)) return;
    NotForFood instead = NotForFood::no;
    if (state_for(*target) == models::ClearingState::over) {
        const auto feed = nearest(models::Purpose::feed);
        if (!feed || state_for(*feed) != models::ClearingState::undecided) {
            next.second_says = models::phrase(
                "a second sample does not lift a result over the limit; a laboratory's test of the same sample "
                "decides");
        } else {
            instead = NotForFood::over;
            target = feed;
        }
    }
    const auto worth_for = [&](std::size_t b) {
        const models::Limit& limit = *bins.limits[b].limit;
        models::SecondSampleAsked asked;
        asked.content_mg_per_kg = one.content_for(limit);
        asked.limit = limit;
        asked.now = one.clearing_for(limit, bins.caps).state;
        asked.mass_t = next.mass_t;
        asked.spoils_t = next.mass_t + bins.ledger.bins[b].mass_t();
        asked.wrong_acceptance_per_t = wrong_acceptance;
        asked.wrong_rejection_per_t = wrong_rejection;
        asked.error = errors_in_use(data, own_duplicates).strip;
        return models::worth_of_second_sample(asked);
    };
    const auto pays = [&](const models::SecondSample& second) {
        return second.worth() >= std::max(least_worth, next.test_cost.value_or(0.0) + 1e-9);
    };
    next.second = worth_for(*target);
    if (state_for(*target) == models::ClearingState::undecided && next.second->clears < hardly_clears) {
        next.no_test_for.push_back(data.bins[*target].purpose);
        // For food it would be in vain: perhaps it says whether the load may go for feed.
        const auto feed = instead == NotForFood::no ? nearest(models::Purpose::feed) : std::nullopt;
        if (feed && state_for(*feed) == models::ClearingState::undecided) {
            const models::SecondSample of_feed = worth_for(*feed);
            if (is_open(*feed) && of_feed.clears >= hardly_clears && pays(of_feed)) {
                next.second = of_feed;
                target = feed;
                instead = NotForFood::hardly;
            } else {
                next.no_test_for.push_back(models::Purpose::feed);
            }
        }
    }
    next.second_bin = data.bins[*target].bin;
    next.second_pays = pays(*next.second);
    if (next.second_says.empty())
        next.second_says =
            second_in_words(next, state_for(*target), instead, models::in_words(data.bins[*target].purpose));
}

}  // namespace

NextLoad next_load(const SeasonData& data, const BinsView& bins, const std::string& name, bool own_duplicates,
                   const std::optional<models::Stamp>& at) {
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
    next.has_result = one.has_result();
    next.unread_sample = unread_sample_of(data, name);
    next.tested_sample = highest_sample(one.results());
    for (std::size_t b = 0; b < data.bins.size(); ++b) {
        next.choices.push_back(one.choice(b, bins.caps, wrong_acceptance, wrong_rejection));
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

    if (next.in_money) {
        const auto test = cost_of(data, "test"), sample = cost_of(data, "sample");
        // Of a sample that lies there the reading alone is still to be paid.
        const double of_sample = next.unread_sample.empty() ? sample.value_or(0.0) : 0.0;
        if (test || sample) next.test_cost = test.value_or(0.0) + of_sample;
    }
    add_second(data, bins, one, own_duplicates, wrong_acceptance, wrong_rejection, next);
    next.evidence = evidence_of_load(data, *load, one.results(), one.draws());
    next.advice = advice_of_load(data, bins, next, at ? *at : last_record_of_grain(data, season_of_load(data, *load)));
    return next;
}

}  // namespace app
