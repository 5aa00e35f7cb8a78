#include "app/figure_of_review.h"

#include <algorithm>
#include <array>
#include <filesystem>

#include <fmt/format.h>

#include "app/cautions.h"
#include "app/drawing/cairo_painter.h"
#include "app/drawing/svg_painter.h"
#include "app/words.h"
#include "geo/whole_file.h"
#include "models/decision/limit_rule.h"
#include "models/error.h"

namespace app {

namespace {

drawing::ReliabilityPanel reliability_panel(const char* title, const std::optional<models::BrierParts>& brier,
                                            const char* empty) {
    drawing::ReliabilityPanel panel;
    panel.title = title;
    panel.empty = empty;
    if (!brier) return panel;
    for (const models::ReliabilityRow& row : brier->table) {
        const auto events = static_cast<int>(row.observed * row.n + 0.5);
        const models::ShareInterval share = models::share_interval(events, row.n);
        panel.groups.push_back({row.predicted, row.observed, share.low95, share.high95, row.n});
    }
    return panel;
}

std::string two_digits(const std::optional<double>& value) {
    return value ? models::said(fmt::format("{:.2f}", *value)) : "";
}

drawing::LeagueRow league_row(const ModelReview& review, bool chosen) {
    drawing::LeagueRow row;
    row.name = models::spoken_title(*review.model) + (review.model->unconfirmed ? spoken(words::and_unconfirmed) : "");
    row.chosen = chosen;
    row.fields = std::to_string(review.cases.happened.size());
    if (review.rank) {
        row.auc = review.rank->auc;
        row.auc_text = models::said(fmt::format("{:.2f}", *row.auc));
        row.independent_low95 = review.rank->low95;
        row.independent_high95 = review.rank->high95;
        row.low95 = review.auc_over_seasons.low95;
        row.high95 = review.auc_over_seasons.high95;
        if (row.low95 && row.high95)
            row.interval_text = spoken(words::from_to, models::said(fmt::format("{:.2f}", *row.low95)),
                                       models::said(fmt::format("{:.2f}", *row.high95)));
    }
    if (review.brier) row.brier = models::said(fmt::format("{:.3f}", review.brier->brier));
    if (review.skill) row.skill = models::said(fmt::format("{:+.2f}", *review.skill));
    if (review.don_rank) row.don = two_digits(review.don_rank->auc);
    return row;
}

}  // namespace

drawing::ReviewFigure review_figure_of(const SeasonsReviewed& review, const models::DiseaseModel& model) {
    const std::vector<int>& seasons = review.risks.seasons;
    const ModelReview& chosen = review.risks.of(model);
    drawing::ReviewFigure figure;
    figure.title = seasons.size() == 1 ? spoken(words::title_review, seasons.front())
                                       : spoken(words::title_review_seasons, seasons.front(), seasons.back());
    figure.subtitle = spoken(words::subtitle_review, models::spoken_title(model));
    const bool has_scouting = !review.risks.scouting.found.empty();
    figure.reliability.push_back(reliability_panel(spoken(words::review_reliability), chosen.brier,
                                                   has_scouting && model.kind != models::RiskKind::probability
                                                       ? spoken(words::review_no_chance)
                                                       : spoken(words::review_no_scouting)));
    if (review.forecasts.kept > 0) {
        // Those that somebody had in hand come before those made afterwards, and of each those that knew least.
        const std::array<const char*, 4> titles = {
            spoken(words::review_reliability_forecasts), spoken(words::review_reliability_forecasts_knowing),
            spoken(words::review_reliability_afterwards), spoken(words::review_reliability_afterwards_knowing)};
        const auto& classes = review.forecasts.classes;
        const auto told =
            std::find_if(classes.begin(), classes.end(), [](const ForecastClass& of) { return of.brier.has_value(); });
        const auto shown = static_cast<std::size_t>(told == classes.end() ? 0 : told - classes.begin());
        figure.reliability.push_back(
            reliability_panel(titles[shown], classes[shown].brier, spoken(words::review_no_forecasts)));
    }
    figure.order_empty = has_scouting ? spoken(words::review_no_order) : spoken(words::review_no_scouting);
    for (const ModelReview& one : review.risks.models) {
        if (!one.rank) continue;
        drawing::OrderCurve curve;
        curve.chosen = one.model == &model;
        for (const models::OperatingPoint& point : models::operating_curve(one.cases))
            curve.shares.push_back({point.non_events, point.events});
        figure.order.push_back(std::move(curve));
    }
    figure.league_title =
        review.risks.same_fields ? spoken(words::review_league) : spoken(words::review_league_differing);
    if (has_scouting || !review.risks.don.empty()) {
        for (const ModelReview& one : review.risks.models)
            figure.league.push_back(league_row(one, one.model == &model));
    }
    figure.notes = {spoken(words::review_key)};
    if (!figure.league.empty()) {
        figure.notes.emplace_back(spoken(words::review_key_league));
        const auto has = [&](std::string drawing::LeagueRow::*text) {
            return std::any_of(figure.league.begin(), figure.league.end(),
                               [&](const drawing::LeagueRow& row) { return !(row.*text).empty(); });
        };
        if (has(&drawing::LeagueRow::brier)) figure.brier_note = spoken(words::review_key_brier);
        if (has(&drawing::LeagueRow::skill)) figure.skill_note = spoken(words::review_key_skill);
        if (review.risks.models.size() > 1) figure.notes.emplace_back(spoken(words::review_key_bold));
        if (static_cast<int>(seasons.size()) < models::least_seasons)
            figure.notes.emplace_back(spoken(words::review_key_few_seasons));
    }
    if (review.limit && !review.risks.don.empty()) {
        figure.don_head = fmt::format("{}, {}", spoken(words::review_league_don), models::in_words(*review.limit));
        figure.notes.push_back(spoken(words::review_key_don, models::in_words(*review.limit)));
    }
    figure.caution = spoken(caution::risk_is_not_don);
    return figure;
}

void write_review_figure(const std::string& path, const drawing::ReviewFigure& figure) {
    using namespace drawing;
    const std::string kind = std::filesystem::path(path).extension().string();
    if (kind == ".pdf") {
        PdfPage page;
        std::swap(page.width, page.height);  // on its side
        const Rect area{28.0, 28.0, page.width - 56.0, page.height - 56.0};
        page.draw = [&figure, area](Painter& painter) { draw_review_figure(painter, area, figure, page_look(8.0)); };
        write_pdf(path, {page}, figure.title);
        return;
    }
    if (kind != ".png" && kind != ".svg") {
        throw models::Error("\"" + path + "\" is no picture that can be written", "--out",
                            "end its name in .png, .svg or .pdf");
    }
    Look look;
    look.text_px = 16.0;
    constexpr int width = 1360;
    const double inner = width - 48.0;
    double height = 0.0;
    svg_text(width, 100, look.theme.paper, "", "",
             [&](Painter& measure) { height = height_of_review_figure(measure, inner, figure, look); });
    const Rect area{24.0, 24.0, inner, height};
    const int all = static_cast<int>(height) + 48;
    const auto draw = [&](Painter& painter) { draw_review_figure(painter, area, figure, look); };
    if (kind == ".png") {
        write_png(path, width, all, look.theme.paper, draw);
    } else {
        geo::write_whole_file(path, svg_text(width, all, look.theme.paper, figure.title, figure.subtitle, draw));
    }
}

}  // namespace app
