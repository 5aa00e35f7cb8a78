#pragma once

#include <optional>
#include <string>
#include <vector>

#include "app/stages/contamination_stage.h"
#include "models/decision/reading_law.h"
#include "models/decision/test_order.h"

namespace app {

struct OrderSettings {
    int season = 0;
    int tests = 10;       ///< how many are going to be placed
    bool repeat = false;  ///< rank fields that have a test already, too
    std::optional<models::LocalDay>
        today;  ///< a result after the cut is worth nothing; none: the dates are not looked at
    int days_to_result = 0;
    double hours_per_test = 0.0;  ///< of work, which the cost of an hour is for
    int draws = 2000;
    std::uint64_t seed = 1;
    int threads = 0;
};

/// Which of the season's fields to test first, by what a test is worth; by disease risk where no result is known at
/// all. Names are those of ground_name.
models::TestOrder order_of_fields(const SeasonData& data, const std::vector<FieldRisk>& risks,
                                  const ContaminationView& view, const models::Limit& limit,
                                  const OrderSettings& settings, const models::Progress& progress = {});

/// A usual test of delivered grain, as the decisions see it.
models::ReadingLaw usual_test(const models::ContaminationModel& model);

}  // namespace app
