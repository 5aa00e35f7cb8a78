#include "app/commands/plan_sampling_command.h"

#include <algorithm>
#include <charconv>
#include <cmath>
#include <filesystem>
#include <memory>

#include <fmt/format.h>
#include <nlohmann/json.hpp>

#include "app/cautions.h"
#include "app/commands/point_columns.h"
#include "app/commands/season_options.h"
#include "app/drawing/cairo_painter.h"
#include "app/drawing/figures/acceptance_figure.h"
#include "app/drawing/svg_painter.h"
#include "app/table_text.h"
#include "app/words.h"
#include "geo/whole_file.h"
#include "models/contamination/normal.h"
#include "models/counted.h"
#include "models/decision/limit_rule.h"
#include "models/decision/sampling_plan.h"
#include "models/error.h"

namespace app::commands {

namespace {

using PlanJson = nlohmann::ordered_json;

struct PlanRequest {
    std::string limit, shape = "lognormal";
    std::optional<double> rounding;
    bool at_or_over = false;
    models::SamplingPlan plan;
    std::optional<std::string> contents, sample_masses, portion_masses, out;
    std::optional<double> good, bad, lots_median, lots_cv_pct, lot_t;
    double good_rejected_pct = 5.0, bad_accepted_pct = 5.0;
    bool undivided = false, json = false;
    models::WorkCosts costs;
    std::optional<double> own_sampling_pct, own_preparation_pct, own_analysis_pct, own_sampling_mass_g, own_portion_g;
};

struct LotsAsTheyCome {
    double median_mg_per_kg = 0.0, cv = 0.0;
    models::PlanRisks risks;
};

/// What was asked, worked out: everything that is printed, drawn or written as JSON.
struct PlanAnswer {
    models::Limit limit;
    models::ReadingShape shape = models::ReadingShape::lognormal;
    models::ErrorModel error;
    models::SamplingPlan plan;
    models::PlanWork work;
    struct Row {
        double content_mg_per_kg = 0.0, cv = 0.0, lognormal = 0.0, normal = 0.0;
    };
    std::vector<Row> rows;
    std::optional<models::PlanTarget> target;
    double good_rejected = 0.0, bad_accepted = 0.0;
    std::optional<models::PlanChoice> cheapest;
    models::PlanWork cheapest_work;
    std::optional<LotsAsTheyCome> lots;
    std::optional<models::OfficialSampling> official;
    double lot_t = 0.0;
    bool undivided = false, anything_costs = false, anything_takes_minutes = false;
    std::vector<std::string> extrapolations;
    std::vector<std::string> files;
};

models::Limit limit_of_request(const PlanRequest& request) {
    double number = 0.0;
    const char* const end = request.limit.data() + request.limit.size();
    const auto [stop, failed] = std::from_chars(request.limit.data(), end, number);
    if ((failed != std::errc() || stop != end) && request.limit.find(',') == std::string::npos) {
        throw models::Error(
            "\"" + request.limit + "\" is no number, and no store is read here that might know the name", "--limit",
            "write the limit in mg/kg, with --rounding and --at-or-over as it says");
    }
    models::Limit limit = models::limit_from_text(request.limit, {});
    limit.rounding_mg_per_kg = request.rounding;
    if (request.at_or_over) limit.comparison = models::Comparison::at_or_over;
    models::breaking_point(limit);  // refuses a step that is none
    return limit;
}

models::ReadingShape shape_of_request(const PlanRequest& request) {
    if (request.shape == "lognormal") return models::ReadingShape::lognormal;
    if (request.shape == "normal") return models::ReadingShape::normal;
    throw models::Error("\"" + request.shape + "\" is no form of results", "--shape", "write lognormal or normal");
}

std::string name_of_shape(models::ReadingShape shape) {
    return shape == models::ReadingShape::normal ? "normal" : "lognormal";
}

double share_of_percent(double percent, const char* option, double most) {
    if (!(percent > 0.0 && percent < most)) {
        throw models::Error(fmt::format("{} % is not between 0 and {} %", percent, most), option,
                            "write per cent: 5 is one in twenty");
    }
    return percent / 100.0;
}

models::ErrorModel error_of_request(const PlanRequest& request) {
    models::ErrorModel error;
    const auto take = [](const std::optional<double>& percent, const char* option, std::optional<double>& own) {
        if (percent) own = share_of_percent(*percent, option, 1000.0);
    };
    take(request.own_sampling_pct, "--own-sampling", error.own_sampling_cv);
    take(request.own_preparation_pct, "--own-preparation", error.own_preparation_cv);
    take(request.own_analysis_pct, "--own-analysis", error.own_analysis_cv);
    const auto measured_at = [](const std::optional<double>& grams, const char* option, bool own, const char* of) {
        if (!grams) return;
        if (!own)
            throw models::Error(fmt::format("{} says at which mass {} was measured, and there is none", option, of),
                                option, fmt::format("give {} as well", of));
        if (!(*grams > 0.0) || !std::isfinite(*grams))
            throw models::Error(fmt::format("{} g is no mass of duplicates", *grams), option, "write grams above 0");
    };
    measured_at(request.own_sampling_mass_g, "--own-sampling-mass", request.own_sampling_pct.has_value(),
                "--own-sampling");
    measured_at(request.own_portion_g, "--own-portion", request.own_preparation_pct.has_value(), "--own-preparation");
    error.own_sampling_mass_g = request.own_sampling_mass_g;
    error.own_portion_g = request.own_portion_g;
    return error;
}

/// Lots as they come: lognormal, 2,000 contents of equal chance.
LotsAsTheyCome lots_of_request(const PlanRequest& request, const PlanAnswer& answer) {
    if (!request.lots_median || !request.lots_cv_pct) {
        throw models::Error("lots need their median and their coefficient of variation", "--lots-median, --lots-cv",
                            "give both");
    }
    if (!(*request.lots_median > 0.0) || !std::isfinite(*request.lots_median)) {
        throw models::Error(fmt::format("a median of {} mg/kg is none", *request.lots_median), "--lots-median",
                            "write a content above 0");
    }
    LotsAsTheyCome lots;
    lots.median_mg_per_kg = *request.lots_median;
    lots.cv = share_of_percent(*request.lots_cv_pct, "--lots-cv", 1000.0);
    const double log_sd = std::sqrt(std::log1p(lots.cv * lots.cv));
    Eigen::VectorXd contents(2000);
    for (Eigen::Index i = 0; i < contents.size(); ++i) {
        const double chance = (static_cast<double>(i) + 0.5) / static_cast<double>(contents.size());
        contents[i] = lots.median_mg_per_kg * std::exp(log_sd * models::normal::quantile(chance));
    }
    lots.risks = models::risks_over_lots(answer.plan, contents, answer.limit, answer.shape, answer.error);
    return lots;
}

std::vector<double> contents_of_request(const PlanRequest& request, const models::Limit& limit) {
    std::vector<double> contents;
    if (request.contents) {
        contents = numbers_in_list(*request.contents, "--contents");
    } else {
        for (const double share : {0.25, 0.5, 0.75, 0.9, 1.0, 1.1, 1.25, 1.5, 2.0, 3.0})
            contents.push_back(share * limit.limit_mg_per_kg);
    }
    for (const auto& named : {request.good, request.bad})
        if (named) contents.push_back(*named);
    for (const double content : contents) {
        if (!(content > 0.0) || !std::isfinite(content)) {
            throw models::Error(fmt::format("a content of {} mg/kg cannot be judged", content),
                                "--contents, --good, --bad", "write contents above 0");
        }
    }
    std::sort(contents.begin(), contents.end());
    contents.erase(std::unique(contents.begin(), contents.end()), contents.end());
    return contents;
}

void choose_cheapest(const PlanRequest& request, PlanAnswer& answer) {
    if (request.good.has_value() != request.bad.has_value()) {
        throw models::Error("a target needs a good content and a bad one", "--good, --bad", "give both");
    }
    const models::WorkCosts& costs = request.costs;
    if (!(costs.minute == 0.0) &&
        costs.minutes_per_sample + costs.minutes_per_portion + costs.minutes_per_analysis == 0.0) {
        throw models::Error("a minute costs something, but no step takes any", "--cost-minute",
                            "give --minutes-sample, --minutes-portion or --minutes-analysis");
    }
    if (!request.good) {
        if (request.sample_masses || request.portion_masses) {
            throw models::Error("masses to choose from need a target", "--masses, --portions-of",
                                "give --good and --bad");
        }
        return;
    }
    models::PlanTarget target;
    target.good_mg_per_kg = *request.good;
    target.bad_mg_per_kg = *request.bad;
    target.most_good_rejected = share_of_percent(request.good_rejected_pct, "--good-rejected", 100.0);
    target.most_bad_accepted = share_of_percent(request.bad_accepted_pct, "--bad-accepted", 100.0);
    models::PlanMasses masses;
    if (request.sample_masses) masses.sample_mass_g = numbers_in_list(*request.sample_masses, "--masses");
    if (request.portion_masses) masses.portion_g = numbers_in_list(*request.portion_masses, "--portions-of");
    answer.target = target;
    answer.cheapest =
        models::cheapest_plan(target, costs, masses, answer.plan, answer.limit, answer.shape, answer.error);
    if (answer.cheapest) answer.cheapest_work = models::work_of(answer.cheapest->plan, costs);
    const auto accepted = [&](double content) {
        return models::acceptance_probability(answer.plan, content, answer.limit, answer.shape, answer.error);
    };
    answer.good_rejected = 1.0 - accepted(target.good_mg_per_kg);
    answer.bad_accepted = accepted(target.bad_mg_per_kg);
}

PlanAnswer answer_of(const PlanRequest& request) {
    PlanAnswer answer;
    answer.limit = limit_of_request(request);
    answer.shape = shape_of_request(request);
    answer.error = error_of_request(request);
    answer.plan = request.plan;
    answer.work = models::work_of(request.plan, request.costs);
    answer.anything_costs = request.costs.strip + request.costs.minute + request.costs.kilogram > 0.0;
    answer.anything_takes_minutes =
        request.costs.minutes_per_sample + request.costs.minutes_per_portion + request.costs.minutes_per_analysis > 0.0;
    const std::vector<double> contents = contents_of_request(request, answer.limit);
    for (const double content : contents) {
        const auto accepted = [&](models::ReadingShape shape) {
            return models::acceptance_probability(answer.plan, content, answer.limit, shape, answer.error);
        };
        answer.rows.push_back({content, models::plan_cv(answer.plan, content, answer.error),
                               accepted(models::ReadingShape::lognormal), accepted(models::ReadingShape::normal)});
    }
    choose_cheapest(request, answer);
    if (request.lots_median || request.lots_cv_pct) answer.lots = lots_of_request(request, answer);
    if (request.lot_t) {
        answer.lot_t = *request.lot_t;
        answer.undivided = request.undivided;
        answer.official = request.undivided ? models::official_sampling_undivided(*request.lot_t)
                                            : models::official_sampling(*request.lot_t);
    } else if (request.undivided) {
        throw models::Error("--undivided needs a lot", "", "give --lot T, its tonnes");
    }
    answer.extrapolations = models::extrapolations(answer.plan, contents, answer.error);
    if (answer.cheapest) {
        for (const std::string& sentence : models::extrapolations(answer.cheapest->plan, contents, answer.error)) {
            auto& said = answer.extrapolations;
            if (std::find(said.begin(), said.end(), sentence) == said.end()) said.push_back(sentence);
        }
    }
    return answer;
}

/// A chance with the digits that tell plans apart: "5.0 %", "0.16 %".
std::string exact_chance(double chance) {
    const double percent = 100.0 * chance;
    if (percent < 0.01) return "< 0.01 %";
    if (percent > 99.99) return "> 99.99 %";
    return percent < 1.0 || percent > 99.0 ? fmt::format("{:.2f} %", percent) : fmt::format("{:.1f} %", percent);
}

std::string work_in_words(const models::PlanWork& work, bool anything_costs) {
    std::string words = models::counted(work.strips, "strip");
    if (work.minutes > 0.0) words += fmt::format(", {:.4g} minutes", work.minutes);
    words += fmt::format(", {:.4g} kg of grain", work.kilograms);
    if (anything_costs) words += fmt::format(", cost {:.2f}", work.cost);
    return words;
}

std::string official_in_words(const PlanAnswer& answer) {
    const models::OfficialSampling& official = *answer.official;
    const std::string each =
        fmt::format("{} increments of about 100 g, {:.4g} kg together", official.increments, official.aggregate_kg);
    const std::string lot =
        fmt::format("Official control in the European Union takes of a lot of {:.6g} t", answer.lot_t);
    const std::string source = "((EU) 2023/2782, Annex I; cereals)";
    if (official.sublots > 1)
        return fmt::format("{}, in {} sublots of {:.4g} t, from each {} {}.", lot, official.sublots, official.sublot_t,
                           each, source);
    return fmt::format("{}{} {} {}.", lot, answer.undivided ? ", undivided," : "", each, source);
}

/// How the target is met, or by how much it is missed.
std::string target_in_words(const PlanAnswer& answer) {
    const models::PlanTarget& target = *answer.target;
    return fmt::format(
        "This plan: at {} mg/kg the seller has {} of lots turned away (allowed {}), at {} mg/kg the buyer accepts {} "
        "(allowed "
        "{}).",
        models::content_in_words(target.good_mg_per_kg), exact_chance(answer.good_rejected),
        exact_chance(target.most_good_rejected), models::content_in_words(target.bad_mg_per_kg),
        exact_chance(answer.bad_accepted), exact_chance(target.most_bad_accepted));
}

std::string cheapest_in_words(const PlanAnswer& answer) {
    if (!answer.cheapest)
        return "No plan of up to 12 samples, 4 portions and 4 analyses keeps both risks. Let the two contents lie "
               "farther "
               "from the limit, allow more, or take larger samples and portions (--masses, --portions-of).";
    return fmt::format("Cheapest plan within both risks: {}; {}. Seller's risk {}, buyer's risk {}.",
                       models::in_words(answer.cheapest->plan),
                       work_in_words(answer.cheapest_work, answer.anything_costs),
                       exact_chance(answer.cheapest->good_rejected), exact_chance(answer.cheapest->bad_accepted));
}

std::string no_cost_in_words() {
    return "No costs are given: plans are compared by nothing but their grain and their numbers of samples, portions "
           "and "
           "analyses. Give --cost-strip, --cost-minute, --cost-kilogram.";
}

drawing::AcceptanceCurve curve_of(const models::SamplingPlan& plan, const PlanAnswer& answer, double to_mg_per_kg,
                                  const char* name) {
    drawing::AcceptanceCurve curve;
    curve.name = fmt::format(fmt::runtime(name), models::in_words(plan));
    constexpr int steps = 300;
    // From a thousandth of the width: no lot holds nothing at all.
    for (int i = 0; i <= steps; ++i) {
        const double content = to_mg_per_kg * std::max(static_cast<double>(i) / steps, 0.001);
        curve.points.push_back(
            {content, models::acceptance_probability(plan, content, answer.limit, answer.shape, answer.error)});
    }
    return curve;
}

drawing::AcceptanceFigure figure_of_plan(const PlanAnswer& answer) {
    drawing::AcceptanceFigure figure;
    figure.title = spoken(words::title_acceptance);
    figure.subtitle = spoken(words::subtitle_acceptance, models::in_words(answer.limit), name_of_shape(answer.shape));
    figure.limit_mg_per_kg = answer.limit.limit_mg_per_kg;
    figure.breaking_mg_per_kg = models::breaking_point(answer.limit).mg_per_kg;
    double to = 2.5 * figure.breaking_mg_per_kg;
    if (answer.target) to = std::max(to, 1.2 * answer.target->bad_mg_per_kg);
    figure.plan = curve_of(answer.plan, answer, to, spoken(words::acceptance_plan));
    if (answer.cheapest) figure.other = curve_of(answer.cheapest->plan, answer, to, spoken(words::acceptance_cheapest));
    if (answer.target) {
        figure.good = {answer.target->good_mg_per_kg, answer.target->most_good_rejected};
        figure.bad = {answer.target->bad_mg_per_kg, answer.target->most_bad_accepted};
        figure.notes.push_back(target_in_words(answer));
        figure.notes.push_back(cheapest_in_words(answer));
    }
    figure.notes.insert(figure.notes.end(), answer.extrapolations.begin(), answer.extrapolations.end());
    figure.caution = spoken(caution::screening);
    return figure;
}

void write_plan_picture(const PlanAnswer& answer, const std::string& file) {
    constexpr int width = 1400, height = 1000;
    const drawing::AcceptanceFigure figure = figure_of_plan(answer);
    std::string kind = std::filesystem::path(file).extension().string();
    for (char& letter : kind)
        if (letter >= 'A' && letter <= 'Z') letter = static_cast<char>(letter - 'A' + 'a');
    const auto drawn = [&](double w, double h, const drawing::Look& look) {
        return [&figure, w, h, look](drawing::Painter& painter) {
            drawing::draw_acceptance_figure(painter, {0.0, 0.0, w, h}, figure, look);
        };
    };
    const drawing::Look look = drawing::look_for(width, height);
    if (kind == ".png") {
        geo::write_whole_file(file, drawing::png_bytes(width, height, look.theme.paper, drawn(width, height, look)));
    } else if (kind == ".svg") {
        geo::write_whole_file(file, drawing::svg_text(width, height, look.theme.paper, figure.title, figure.subtitle,
                                                      drawn(width, height, look)));
    } else if (kind == ".pdf") {
        const drawing::PdfPage across{842.0, 595.0, drawn(842.0, 595.0, drawing::page_look(10.0))};
        geo::write_whole_file(file, drawing::pdf_bytes({across}, figure.title));
    } else {
        throw models::Error("\"" + file + "\" is no kind of picture", "--out", "end the name in .png, .svg or .pdf");
    }
}

PlanJson json_of_plan(const models::SamplingPlan& plan, const models::PlanWork& work, const PlanAnswer& answer) {
    return {{"samples", plan.samples},
            {"sample_mass_g", plan.sample_mass_g},
            {"portions", plan.portions},
            {"portion_g", plan.portion_g},
            {"analyses", plan.analyses},
            {"reads_over_true", plan.bias},
            {"strips", work.strips},
            {"minutes", answer.anything_takes_minutes ? PlanJson(work.minutes) : PlanJson(nullptr)},
            {"grain_kg", work.kilograms},
            {"cost", answer.anything_costs ? PlanJson(work.cost) : PlanJson(nullptr)}};
}

PlanJson json_of_answer(const PlanAnswer& answer) {
    PlanJson out;
    out["limit_mg_per_kg"] = answer.limit.limit_mg_per_kg;
    out["comparison"] = answer.limit.comparison == models::Comparison::over ? "over" : "at_or_over";
    out["rounding_mg_per_kg"] =
        answer.limit.rounding_mg_per_kg ? PlanJson(*answer.limit.rounding_mg_per_kg) : PlanJson(nullptr);
    out["breaking_point_mg_per_kg"] = models::breaking_point(answer.limit).mg_per_kg;
    out["shape"] = name_of_shape(answer.shape);
    out["plan"] = json_of_plan(answer.plan, answer.work, answer);
    out["operating_characteristic"] = PlanJson::array();
    for (const PlanAnswer::Row& row : answer.rows) {
        out["operating_characteristic"].push_back(
            {{"content_mg_per_kg", row.content_mg_per_kg},
             {"cv", row.cv},
             {"accepted", answer.shape == models::ReadingShape::normal ? row.normal : row.lognormal},
             {"accepted_lognormal", row.lognormal},
             {"accepted_normal", row.normal}});
    }
    out["target"] = nullptr;
    out["cheapest"] = nullptr;
    if (answer.target) {
        out["target"] = {{"good_mg_per_kg", answer.target->good_mg_per_kg},
                         {"good_rejected", answer.good_rejected},
                         {"most_good_rejected", answer.target->most_good_rejected},
                         {"bad_mg_per_kg", answer.target->bad_mg_per_kg},
                         {"bad_accepted", answer.bad_accepted},
                         {"most_bad_accepted", answer.target->most_bad_accepted}};
    }
    if (answer.cheapest) {
        out["cheapest"] = json_of_plan(answer.cheapest->plan, answer.cheapest_work, answer);
        out["cheapest"]["good_rejected"] = answer.cheapest->good_rejected;
        out["cheapest"]["bad_accepted"] = answer.cheapest->bad_accepted;
    }
    out["lots"] = nullptr;
    if (answer.lots) {
        out["lots"] = {{"median_mg_per_kg", answer.lots->median_mg_per_kg},
                       {"cv", answer.lots->cv},
                       {"over", answer.lots->risks.over},
                       {"accepted", answer.lots->risks.accepted},
                       {"over_and_accepted", answer.lots->risks.over_and_accepted},
                       {"good_and_rejected", answer.lots->risks.good_and_rejected}};
    }
    out["official_sampling"] = nullptr;
    if (answer.official) {
        out["official_sampling"] = {{"lot_t", answer.lot_t},
                                    {"undivided", answer.undivided},
                                    {"sublots", answer.official->sublots},
                                    {"sublot_t", answer.official->sublot_t},
                                    {"increments", answer.official->increments},
                                    {"aggregate_kg", answer.official->aggregate_kg}};
    }
    out["error_model"] = models::describe(answer.error);
    out["extrapolations"] = answer.extrapolations;
    out["files"] = answer.files;
    return out;
}

void print_plan(const PlanAnswer& answer) {
    print(fmt::format("Sampling plan against a limit: {}", models::in_words(answer.limit)));
    print(wrapped_text(fmt::format("Plan: {}; {}.", models::in_words(answer.plan),
                                   work_in_words(answer.work, answer.anything_costs))));
    if (answer.plan.bias != 1.0) print(fmt::format("The reader reads {:.4g} times what is there.", answer.plan.bias));
    const bool normal_form = answer.shape == models::ReadingShape::normal;
    TextTable table({">mg/kg", ">CV", normal_form ? ">accepted (normal)" : ">accepted (lognormal)", ">turned away",
                     normal_form ? ">accepted (lognormal)" : ">accepted (normal)"});
    for (const PlanAnswer::Row& row : answer.rows) {
        const double chosen = normal_form ? row.normal : row.lognormal,
                     other = normal_form ? row.lognormal : row.normal;
        table.row({fmt::format("{:.6g}", row.content_mg_per_kg), fmt::format("{:.1f} %", 100.0 * row.cv),
                   exact_chance(chosen), exact_chance(1.0 - chosen), exact_chance(other)});
    }
    print(table.text());
    print(
        wrapped_text("Which of the two forms fits wheat is not settled: lognormal is usual for a single small sample, "
                     "normal for the mean of many."));
    if (answer.target) {
        print(wrapped_text(target_in_words(answer)));
        print(wrapped_text(cheapest_in_words(answer)));
        if (!answer.anything_costs) print(wrapped_text(no_cost_in_words()));
    }
    if (answer.lots) {
        const models::PlanRisks& risks = answer.lots->risks;
        print(wrapped_text(fmt::format(
            "Over lots with a median of {} mg/kg and a coefficient of variation of {:.4g} %: {} are over, {} are "
            "accepted; {} of all lots are over and accepted (the buyer's), {} are good and turned away (the seller's).",
            models::content_in_words(answer.lots->median_mg_per_kg), 100.0 * answer.lots->cv, exact_chance(risks.over),
            exact_chance(risks.accepted), exact_chance(risks.over_and_accepted),
            exact_chance(risks.good_and_rejected))));
    }
    if (answer.official) print(wrapped_text(official_in_words(answer)));
    print("What this rests on:");
    for (const std::string& sentence : models::describe(answer.error)) {
        // A plan states its masses: nothing is assumed for them.
        if (sentence.find("are assumed") == std::string::npos) print(wrapped_text(sentence, 100, "  "));
    }
    for (const std::string& sentence : answer.extrapolations)
        print(wrapped_text("Extrapolation: " + sentence, 100, "  "));
    for (const std::string& file : answer.files) print("Written: " + file);
    print(wrapped_text(spoken(caution::screening)));
}

int run_plan_sampling(const PlanRequest& request) {
    PlanAnswer answer = answer_of(request);
    if (request.out) {
        write_plan_picture(answer, *request.out);
        answer.files.push_back(*request.out);
    }
    if (request.json) {
        print(json_of_answer(answer).dump(2));
    } else {
        print_plan(answer);
    }
    return 0;
}

void declare_plan(Options& options, PlanRequest& request) {
    options.option(request.limit, "--limit", "L", "the limit in mg/kg", true);
    options.option(request.rounding, "--rounding", "STEP",
                   "results are rounded to this before they are compared, mg/kg");
    options.flag(request.at_or_over, "--at-or-over", "a result at the limit breaks it too");
    options.option(request.plan.samples, "--samples", "N", "samples taken of the lot (1)");
    options.option(request.plan.sample_mass_g, "--mass", "G", "grams of each sample, all ground (454)");
    options.option(request.plan.portions, "--portions", "N", "portions tested of each ground sample (1)");
    options.option(request.plan.portion_g, "--portion", "G", "grams of each portion (25)");
    options.option(request.plan.analyses, "--analyses", "N", "strips read of each extract (1)");
    options.option(request.plan.bias, "--reads", "FACTOR", "what the reader reads over what is there (1)");
    options.option(request.shape, "--shape", "FORM", "how results lie about the content: lognormal or normal");
    options.option(request.contents, "--contents", "C,...", "contents of lots to judge, mg/kg (around the limit)");
    options.option(request.own_sampling_pct, "--own-sampling", "PCT",
                   "coefficient of variation of taking the sample, from duplicates of your own");
    options.option(request.own_sampling_mass_g, "--own-sampling-mass", "G",
                   "grams of the samples it was measured with: its variance goes with 1 / mass");
    options.option(request.own_preparation_pct, "--own-preparation", "PCT", "the same of grinding and portioning");
    options.option(request.own_portion_g, "--own-portion", "G", "grams of the portions that was measured with");
    options.option(request.own_analysis_pct, "--own-analysis", "PCT", "the same of one strip");
}

void declare_target(Options& options, PlanRequest& request) {
    options.option(request.good, "--good", "C", "a content within the limit that is to be accepted, mg/kg");
    options.option(request.good_rejected_pct, "--good-rejected", "PCT", "of those, turned away at most (5)");
    options.option(request.bad, "--bad", "C", "a content over the limit that is to be found, mg/kg");
    options.option(request.bad_accepted_pct, "--bad-accepted", "PCT", "of those, accepted at most (5)");
    options.option(request.sample_masses, "--masses", "G,...", "masses of samples that the cheapest plan may take");
    options.option(request.portion_masses, "--portions-of", "G,...", "masses of portions that it may take");
    options.option(request.costs.strip, "--cost-strip", "C", "of one strip");
    options.option(request.costs.minute, "--cost-minute", "C", "of one minute of work");
    options.option(request.costs.kilogram, "--cost-kilogram", "C", "of one kilogram of grain that is ground");
    options.option(request.costs.minutes_per_sample, "--minutes-sample", "M", "to take and grind one sample");
    options.option(request.costs.minutes_per_portion, "--minutes-portion", "M", "to weigh and extract one portion");
    options.option(request.costs.minutes_per_analysis, "--minutes-analysis", "M", "to run and read one strip");
    options.option(request.lots_median, "--lots-median", "C", "lots as they come: their median content, mg/kg");
    options.option(request.lots_cv_pct, "--lots-cv", "PCT", "and their coefficient of variation");
    options.option(request.lot_t, "--lot", "T", "tonnes of the lot: what official control in the EU would take of it");
    options.flag(request.undivided, "--undivided", "the lot cannot be divided into sublots");
}

}  // namespace

Command make_plan_sampling_command() {
    return {"plan-sampling", "How a sampling plan judges lots, what it risks, and the cheapest one for a target.",
            [](Options& options) {
                auto request = std::make_shared<PlanRequest>();
                declare_plan(options, *request);
                declare_target(options, *request);
                options.option(request->out, "--out", "FILE", "the chart, as .png, .svg or .pdf");
                options.flag(request->json, "--json", "machine-readable output with stable keys");
                options.footer(
                    "Example: lodicule plan-sampling --limit 1.0 --mass 1000 --portion 5 --good 0.6 --bad 1.5\n"
                    "         --cost-strip 9 --cost-minute 0.6 --minutes-sample 8 --minutes-analysis 6 --out plan.png\n"
                    "The mean of all results stands against the limit. Seller's risk: a good lot is turned away;\n"
                    "buyer's risk: a bad one is accepted. The cheapest plan is looked for among up to 12 samples, 4\n"
                    "portions of each and 4 strips of each extract. No cost is built in; all are in one money.\n"
                    "The variances are those of a study of wheat at 5 mg/kg; what goes beyond it is said.");
                return [request] { return run_plan_sampling(*request); };
            }};
}

}  // namespace app::commands
