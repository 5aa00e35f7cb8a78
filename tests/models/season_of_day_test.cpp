#include "models/season_of_day.h"

#include <catch2/catch.hpp>

using namespace models;

TEST_CASE("grain belongs to the season that flowered in the 300 days before") {
    const std::vector<SeasonDates> seasons = {{2025, {}, {}, day_of(2025, 6, 10)}, {2026, {}, {}, day_of(2026, 6, 12)}};
    CHECK(season_of_day(day_of(2025, 8, 1), seasons) == 2025);
    CHECK(season_of_day(day_of(2026, 3, 1), seasons) == 2025);
    CHECK(season_of_day(day_of(2026, 5, 1), seasons) == 2026);  // standing, before it flowers
    CHECK(season_of_day(day_of(2026, 6, 12), seasons) == 2026);
    CHECK(season_of_day(day_of(2028, 6, 12), seasons) == 2028);
    CHECK(season_of_day(day_of(2028, 6, 12), {}) == 2028);
}

TEST_CASE("grain cut in the south in December is of its season in January by whatever date is written") {
    CHECK(season_of_day(day_of(2026, 1, 9), {{2025, {}, {}, day_of(2025, 10, 8)}}) == 2025);
    CHECK(season_of_day(day_of(2026, 1, 9), {{2025, {}, day_of(2025, 10, 3), {}}}) == 2025);
    CHECK(season_of_day(day_of(2026, 1, 9), {{2025, day_of(2025, 6, 12), {}, {}}}) == 2025);
    // The crop of the next season is not sown yet.
    CHECK(season_of_day(day_of(2026, 1, 9),
                        {{2025, day_of(2025, 6, 12), {}, {}}, {2026, day_of(2026, 6, 5), {}, {}}}) == 2025);
    CHECK(season_of_day(day_of(2026, 12, 9),
                        {{2025, day_of(2025, 6, 12), {}, {}}, {2026, day_of(2026, 6, 5), {}, {}}}) == 2026);
    CHECK(season_of_day(day_of(2025, 6, 30), {{2024, day_of(2024, 6, 1), {}, {}}}) == 2024);
    CHECK(season_of_day(day_of(2025, 9, 30), {{2024, day_of(2024, 6, 1), {}, {}}}) == 2025);
}
