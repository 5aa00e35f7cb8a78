#include "app/stages/round_stage.h"

#include <algorithm>
#include <cmath>

#include <fmt/format.h>

#include "models/error.h"

namespace app {

namespace round_stage_parts {

constexpr double too_far_m = 300000.0;

models::PointM start_of(const SeasonView& view, const RoundSettings& settings) {
    const geo::WorkSystem& work = *view.data.work;
    const auto metres_away = [&](double longitude_deg, double latitude_deg) {
        if (!(std::abs(latitude_deg) <= 90.0) || !(std::abs(longitude_deg) <= 180.0)) return 1e12;
        return models::distance_m(work.from_degrees(longitude_deg, latitude_deg), {0.0, 0.0});
    };
    if (metres_away(settings.from_longitude_deg, settings.from_latitude_deg) > too_far_m) {
        const bool swapped = metres_away(settings.from_latitude_deg, settings.from_longitude_deg) <= too_far_m;
        throw models::Error(fmt::format("{}, {} lies more than 300 km from the fields", settings.from_longitude_deg,
                                        settings.from_latitude_deg),
                            "--from",
                            swapped ? "longitude comes first: swap the two" : "give longitude,latitude in degrees");
    }
    return work.from_degrees(settings.from_longitude_deg, settings.from_latitude_deg);
}

}  // namespace round_stage_parts

RoundOfTests round_of_order(const SeasonView& view, const RoundSettings& settings) {
    using namespace round_stage_parts;
    if (!view.order) throw models::Error("without an order of fields there is no round");
    if (!view.data.work)
        throw models::Error("no field has an outline, so nobody knows where to drive", "--from",
                            "import outlines: lodicule import STORE fields FILE");
    RoundOfTests round;
    models::RouteQuestion question;
    question.start = round.start = start_of(view, settings);
    question.back_to_start = settings.back_to_start;
    question.minutes = settings.minutes;
    question.minutes_a_test = settings.minutes_a_test;
    question.speed_km_per_h = settings.speed_km_per_h;
    std::vector<RoundVisit> candidates;
    std::string without;
    for (const models::RankedField& ranked : view.order->fields) {
        if (ranked.test_its_loads) continue;
        const double gain = view.order->ranking_only ? ranked.risk.value_or(0.0) : ranked.expected_gain;
        if (!(gain > 0.0)) continue;
        const auto found = std::find_if(view.fields.begin(), view.fields.end(),
                                        [&](const FieldView& one) { return one.name == ranked.field; });
        if (found == view.fields.end() || found->outline == nullptr) {
            without += (without.empty() ? "" : ", ") + ranked.field;
            continue;
        }
        question.stops.push_back({ranked.field, models::centroid(found->outline->outline_m), gain});
        candidates.push_back({static_cast<std::size_t>(found - view.fields.begin()), ranked.rank, gain, 0.0});
    }
    round.route = models::test_route(question);
    const auto drive_minutes = [&](const models::PointM& a, const models::PointM& b) {
        return question.roads_longer_by * models::distance_m(a, b) / 1000.0 / question.speed_km_per_h * 60.0;
    };
    models::PointM at = question.start;
    double minutes = 0.0;
    for (const std::size_t stop : round.route.order) {
        RoundVisit visit = candidates[stop];
        minutes += drive_minutes(at, question.stops[stop].place);
        visit.arrive_minutes = minutes;
        minutes += question.minutes_a_test;
        at = question.stops[stop].place;
        round.visits.push_back(visit);
    }
    round.left_out = static_cast<int>(candidates.size() - round.visits.size());
    if (!without.empty()) round.notes.push_back("no outline is drawn, so nobody knows the way: " + without);
    return round;
}

}  // namespace app
