#include "models/decision/test_route.h"

#include <algorithm>
#include <cmath>
#include <cstdint>
#include <limits>

#include <fmt/format.h>

#include "models/error.h"

namespace models {

namespace route_parts {

constexpr std::size_t exact_up_to = 14;
constexpr double hair_minutes = 1e-9;

/// Places and minutes between them; 0 is the start.
class Round {
 public:
    Round(const RouteQuestion& question, std::vector<std::size_t> worth)
        : question_(question), worth_(std::move(worth)) {
        places_.push_back(question.start);
        for (const std::size_t stop : worth_) places_.push_back(question.stops[stop].place);
    }
    std::size_t size() const { return worth_.size(); }
    double gain(std::size_t at) const { return question_.stops[worth_[at - 1]].gain; }
    double km(std::size_t a, std::size_t b) const {
        return question_.roads_longer_by * distance_m(places_[a], places_[b]) / 1000.0;
    }
    double drive(std::size_t a, std::size_t b) const { return 60.0 * km(a, b) / question_.speed_km_per_h; }
    double home(std::size_t from) const { return question_.back_to_start ? drive(from, 0) : 0.0; }
    double km_of(const std::vector<std::size_t>& order) const {
        double sum = 0.0;
        std::size_t at = 0;
        for (const std::size_t next : order) sum += km(at, next), at = next;
        return sum + (question_.back_to_start && !order.empty() ? km(at, 0) : 0.0);
    }
    double minutes_of(const std::vector<std::size_t>& order) const {
        return 60.0 * km_of(order) / question_.speed_km_per_h +
               question_.minutes_a_test * static_cast<double>(order.size());
    }
    double gain_of(const std::vector<std::size_t>& order) const {
        double sum = 0.0;
        for (const std::size_t at : order) sum += gain(at);
        return sum;
    }
    bool fits(const std::vector<std::size_t>& order) const {
        return minutes_of(order) <= question_.minutes + hair_minutes;
    }
    TestRoute told(const std::vector<std::size_t>& order, bool exact) const {
        TestRoute route;
        for (const std::size_t at : order) route.order.push_back(worth_[at - 1]);
        route.gain = gain_of(order);
        route.minutes = minutes_of(order);
        route.driven_km = km_of(order);
        route.exact = exact;
        return route;
    }

 private:
    const RouteQuestion& question_;
    std::vector<std::size_t> worth_;
    std::vector<PointM> places_;
};

/// Of two rounds the one that is worth more, then the shorter.
bool better(const Round& round, const std::vector<std::size_t>& a, const std::vector<std::size_t>& b) {
    const double gain_a = round.gain_of(a), gain_b = round.gain_of(b);
    const double hair = 1e-12 * std::max(gain_a, gain_b);
    if (std::abs(gain_a - gain_b) > hair) return gain_a > gain_b;
    return round.minutes_of(a) < round.minutes_of(b) - hair_minutes;
}

/// The shortest way through every subset that ends at each of its places.
std::vector<std::size_t> best_of_all(const Round& round, const RouteQuestion& question) {
    const std::size_t n = round.size(), subsets = std::size_t{1} << n;
    constexpr double infinite = std::numeric_limits<double>::infinity();
    std::vector<double> way(subsets * n, infinite);
    std::vector<std::uint8_t> before(subsets * n, 0xFF);
    for (std::size_t k = 0; k < n; ++k) way[(std::size_t{1} << k) * n + k] = round.drive(0, k + 1);
    double most = 0.0, least_minutes = 0.0;
    std::size_t best_subset = 0, best_last = 0;
    for (std::size_t subset = 1; subset < subsets; ++subset) {
        double gain = 0.0, tests = 0.0;
        for (std::size_t k = 0; k < n; ++k) {
            if ((subset >> k & 1U) != 0) gain += round.gain(k + 1), tests += question.minutes_a_test;
        }
        for (std::size_t last = 0; last < n; ++last) {
            const double so_far = way[subset * n + last];
            if (!(so_far < infinite)) continue;
            const double minutes = so_far + tests + round.home(last + 1);
            const double hair = 1e-12 * std::max(gain, most);
            if (minutes <= question.minutes + hair_minutes &&
                (gain > most + hair || (gain >= most - hair && minutes < least_minutes - hair_minutes))) {
                most = gain;
                least_minutes = minutes;
                best_subset = subset;
                best_last = last;
            }
            for (std::size_t next = 0; next < n; ++next) {
                if ((subset >> next & 1U) != 0) continue;
                const std::size_t with = subset | std::size_t{1} << next;
                const double then = so_far + round.drive(last + 1, next + 1);
                if (then >= way[with * n + next]) continue;
                way[with * n + next] = then;
                before[with * n + next] = static_cast<std::uint8_t>(last);
            }
        }
    }
    std::vector<std::size_t> order;
    while (best_subset != 0) {
        order.push_back(best_last + 1);
        const std::size_t last = best_last;
        best_last = before[best_subset * n + last];
        best_subset &= ~(std::size_t{1} << last);
    }
    std::reverse(order.begin(), order.end());
    return order;
}

void shorten(const Round& round, std::vector<std::size_t>& order) {
    for (bool shorter = true; shorter;) {
        shorter = false;
        for (std::size_t i = 0; i + 1 < order.size(); ++i) {
            for (std::size_t j = i + 1; j < order.size(); ++j) {
                std::vector<std::size_t> turned = order;
                std::reverse(turned.begin() + static_cast<std::ptrdiff_t>(i),
                             turned.begin() + static_cast<std::ptrdiff_t>(j) + 1);
                if (round.km_of(turned) >= round.km_of(order) - 1e-12) continue;
                order = std::move(turned);
                shorter = true;
            }
        }
    }
}

/// Puts in what is worth most for the minutes it takes, gain^weight over minutes, while anything fits.
void insert_while_it_fits(const Round& round, const RouteQuestion& question, double weight,
                          std::vector<std::size_t>& order) {
    while (true) {
        double best = -1.0;
        std::vector<std::size_t> chosen;
        const double now = round.minutes_of(order);
        for (std::size_t stop = 1; stop <= round.size(); ++stop) {
            if (std::find(order.begin(), order.end(), stop) != order.end()) continue;
            for (std::size_t at = 0; at <= order.size(); ++at) {
                std::vector<std::size_t> with = order;
                with.insert(with.begin() + static_cast<std::ptrdiff_t>(at), stop);
                const double minutes = round.minutes_of(with);
                if (minutes > question.minutes + hair_minutes) continue;
                const double worth = std::pow(round.gain(stop), weight) / std::max(minutes - now, 1e-6);
                if (worth <= best) continue;
                best = worth;
                chosen = std::move(with);
            }
        }
        if (chosen.empty()) return;
        order = std::move(chosen);
    }
}

/// One stop out, then whatever fits in: taken where the round is worth more for it.
bool exchange(const Round& round, const RouteQuestion& question, double weight, std::vector<std::size_t>& order) {
    for (std::size_t out = 0; out < order.size(); ++out) {
        for (std::size_t in = 1; in <= round.size(); ++in) {
            if (std::find(order.begin(), order.end(), in) != order.end()) continue;
            std::vector<std::size_t> other = order;
            other.erase(other.begin() + static_cast<std::ptrdiff_t>(out));
            std::vector<std::size_t> placed;
            for (std::size_t at = 0; at <= other.size(); ++at) {
                std::vector<std::size_t> with = other;
                with.insert(with.begin() + static_cast<std::ptrdiff_t>(at), in);
                if (placed.empty() || round.km_of(with) < round.km_of(placed)) placed = std::move(with);
            }
            if (!round.fits(placed)) continue;
            insert_while_it_fits(round, question, weight, placed);
            if (!better(round, placed, order)) continue;
            order = std::move(placed);
            return true;
        }
    }
    return false;
}

std::vector<std::size_t> found_by_steps(const Round& round, const RouteQuestion& question) {
    std::vector<std::size_t> best;
    for (const double weight : {0.5, 1.0, 1.5, 2.5}) {
        std::vector<std::size_t> order;
        insert_while_it_fits(round, question, weight, order);
        do {
            shorten(round, order);
            insert_while_it_fits(round, question, weight, order);
        } while (exchange(round, question, weight, order));
        if (better(round, order, best)) best = std::move(order);
    }
    return best;
}

void require_round(const RouteQuestion& question) {
    if (!(question.minutes >= 0.0) || !std::isfinite(question.minutes))
        throw Error(fmt::format("a round of {} minutes cannot be laid", question.minutes), "", "give 0 or more");
    if (!(question.minutes_a_test >= 0.0) || !std::isfinite(question.minutes_a_test))
        throw Error(fmt::format("a test of {} minutes makes no sense", question.minutes_a_test), "", "give 0 or more");
    if (!(question.speed_km_per_h > 0.0) || !std::isfinite(question.speed_km_per_h))
        throw Error(fmt::format("nobody drives {} km/h between fields", question.speed_km_per_h), "",
                    "give a speed above 0");
    if (!(question.roads_longer_by >= 1.0) || !std::isfinite(question.roads_longer_by))
        throw Error(fmt::format("roads are not {} times as long as the straight way", question.roads_longer_by), "",
                    "give 1 or more");
    if (question.stops.size() > 2000) throw Error("more than 2,000 fields are no round", "", "give the first hundred");
    for (const RouteStop& stop : question.stops) {
        if (!(stop.gain >= 0.0) || !std::isfinite(stop.gain))
            throw Error(fmt::format("a test of {} is worth {}", stop.name, stop.gain), "", "give 0 or more");
    }
}

}  // namespace route_parts

TestRoute test_route(const RouteQuestion& question) {
    using namespace route_parts;
    require_round(question);
    std::vector<std::size_t> worth;
    for (std::size_t i = 0; i < question.stops.size(); ++i) {
        if (question.stops[i].gain > 0.0) worth.push_back(i);
    }
    // What cannot be reached and tested in the time is no candidate.
    std::erase_if(worth, [&](std::size_t stop) { return !Round(question, {stop}).fits({1}); });
    const Round round(question, worth);
    const bool exact = worth.size() <= exact_up_to;
    return round.told(exact ? best_of_all(round, question) : found_by_steps(round, question), exact);
}

}  // namespace models
