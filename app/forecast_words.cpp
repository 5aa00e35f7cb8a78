#include "app/forecast_words.h"

#include <algorithm>

#include "app/drawing/numbers.h"
#include "app/seasons_words.h"
#include "app/stages/review_stage.h"
#include "app/words.h"
#include "models/counted.h"

namespace app {

namespace {

const char* when_foretold(const ForecastsInShort& of) {
    if (of.made_afterwards)
        return of.own_results_known ? spoken(words::forecasts_afterwards_with_own)
                                    : spoken(words::forecasts_afterwards_before_own);
    return of.own_results_known ? spoken(words::forecasts_with_own) : spoken(words::forecasts_before_own);
}

std::string came_true(const ForecastsInShort::Group& group) {
    return spoken(words::forecasts_group, drawing::percent_text(group.chance), group.over, group.fields,
                  drawing::percent_text(static_cast<double>(group.over) / group.fields));
}

std::string in_words(const ForecastsInShort& of) {
    const int within = of.fields - of.over, one_side = std::max(within, of.over);
    const bool better = of.on_foretold_side > one_side;
    const Word& verdict = within >= of.over
                              ? (better ? words::forecasts_better_within : words::forecasts_no_better_within)
                              : (better ? words::forecasts_better_over : words::forecasts_no_better_over);
    std::string text = models::filled(
        spoken(verdict), models::counted(of.fields, spoken(words::one_field), spoken(words::several_fields)),
        when_foretold(of), of.on_foretold_side, one_side);
    text += " " + spoken(words::forecasts_sum, of.foretold_over, of.over);
    if (of.groups.size() > 1) text += " " + came_true(of.groups.front()) + " " + came_true(of.groups.back());
    if (of.intervals > 0) text += " " + spoken(words::forecasts_inside, of.inside, of.intervals);
    if (of.fields < static_cast<int>(least_cases_for_parts)) text += std::string(" ") + spoken(words::forecasts_few);
    return text;
}

}  // namespace

std::vector<std::string> forecasts_in_words(const ForecastReview& review) {
    if (review.kept == 0)
        return {review.of_other_limits > 0 ? spoken(words::forecasts_of_others, review.of_other_limits)
                                           : std::string(spoken(words::forecasts_none))};
    std::vector<std::string> paragraphs;
    for (const ForecastsInShort& of : forecasts_in_short(review)) paragraphs.push_back(in_words(of));
    if (paragraphs.empty()) paragraphs.emplace_back(spoken(words::forecasts_not_followed));
    return paragraphs;
}

}  // namespace app
