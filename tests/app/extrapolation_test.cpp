#include "app/extrapolation.h"

#include <catch2/catch.hpp>

#include "app/figures_of_season.h"

namespace {

/// Fields named A, B, C ... with the given reasons for which their risks are extrapolated.
app::SeasonView season_with(const std::vector<std::vector<std::string>>& reasons) {
    app::SeasonView view;
    view.season = 2031;
    for (std::size_t i = 0; i < reasons.size(); ++i) {
        models::CropRecord crop;
        crop.field = std::string(1, static_cast<char>('A' + i));
        crop.season = 2031;
        view.data.crops.push_back(crop);
        app::FieldRisk entry;
        entry.crop = i;
        entry.risk.value = 0.3;
        entry.risk.extrapolated = !reasons[i].empty();
        entry.risk.outside = reasons[i];
        view.risks.push_back(entry);
        app::FieldView field;
        field.crop = i;
        field.name = crop.field;
        field.risk = entry.risk.value;
        view.fields.push_back(field);
    }
    return view;
}

const std::string abroad = "outside the region of the model's data (here)", durum = "durum";

}  // namespace

TEST_CASE("what makes all disease risks extrapolated is said once for all of them") {
    const app::SeasonView view = season_with({{abroad}, {abroad, durum}, {abroad}});
    const app::Extrapolations found = app::extrapolations_of(view);
    CHECK(found.sentences == std::vector<std::string>{"All 3 disease risks are extrapolated: " + abroad,
                                                      "1 of 3 disease risks is extrapolated (B): durum"});
    CHECK(found.beside(view.risks[0].risk).empty());
    CHECK(found.beside(view.risks[1].risk) == "durum");
    CHECK(app::extrapolation_in_words(view.risks[1].risk) == abroad + "; durum");
}

TEST_CASE("a field without a disease risk is not counted among the extrapolated ones") {
    app::SeasonView view = season_with({{abroad}, {abroad}, {}});
    view.risks[2].risk.value.reset();
    CHECK(app::extrapolations_of(view).sentences ==
          std::vector<std::string>{"All 2 disease risks are extrapolated: " + abroad});
    CHECK(app::extrapolations_of(season_with({{}, {}})).sentences.empty());
}

TEST_CASE("an order by disease risk alone says below it that the risks are extrapolated") {
    app::SeasonView view = season_with({{abroad}, {abroad}});  // without a model of contents: a ranking only
    CHECK_THAT(app::map_figure_of(view, app::drawing::MapShows::content).caution,
               Catch::Contains("All 2 disease risks are extrapolated: " + abroad));
    CHECK_THAT(app::rank_figure_of(view).caution, Catch::Contains("All 2 disease risks are extrapolated: " + abroad));
}
