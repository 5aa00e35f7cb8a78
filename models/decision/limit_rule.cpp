#include "models/decision/limit_rule.h"

#include <algorithm>
#include <cctype>
#include <charconv>
#include <cmath>
#include <functional>

#include <fmt/format.h>

#include "models/contamination/normal.h"
#include "models/error.h"
#include "models/nearest_names.h"
#include "models/spoken.h"
#include "models/words.h"

namespace models {

namespace limit_words {

/// Contents and steps are short decimals; in binary their ratio misses a whole or a half by a few units in the last
/// place. A slack of a billionth of a step tells the two apart and is far below any printed digit.
constexpr double step_slack = 1e-9;

std::string lower(std::string_view text) {
    std::string out(text);
    std::transform(out.begin(), out.end(), out.begin(),
                   [](unsigned char letter) { return static_cast<char>(std::tolower(letter)); });
    return out;
}

bool fits(const std::string& asked, const std::string& has) {
    return asked.empty() || lower(asked) == lower(has);
}

std::string listed(std::vector<std::string> names) {
    std::sort(names.begin(), names.end());
    names.erase(std::unique(names.begin(), names.end()), names.end());
    return fmt::format("{}", fmt::join(names, ", "));
}

std::string question_in_words(const LimitQuestion& question) {
    std::vector<std::string> parts;
    if (!question.jurisdiction.empty()) parts.push_back(question.jurisdiction);
    if (!question.commodity.empty()) parts.push_back(question.commodity);
    if (question.purpose) parts.push_back("for " + in_words(*question.purpose));
    if (!question.stage.empty()) parts.push_back("at the stage " + question.stage);
    if (question.day) parts.push_back("on " + to_text(*question.day));
    return fmt::format("{}", fmt::join(parts, " "));
}

std::string dates_in_words(const Limit& limit) {
    if (limit.from && limit.to) return phrase("{} to {}", to_text(*limit.from), to_text(*limit.to));
    if (limit.from) return phrase("from {}", to_text(*limit.from));
    if (limit.to) return spoken(word("a last day", "to {}"), to_text(*limit.to));
    return phrase("always");
}

std::string where(const Limit& limit) {
    return limit.limit_id.empty() ? phrase("limit") : phrase("limit {}", limit.limit_id);
}

/// Shortest digits that are this number, with a digit after the point: "1.0", "1.25".
std::string exact(double value) {
    std::string text = fmt::format("{}", value);
    if (text.find_first_of(".e") == std::string::npos) text += ".0";
    return said(text);
}

}  // namespace limit_words

BreakingPoint breaking_point(const Limit& limit) {
    const double x = limit.limit_mg_per_kg;
    if (!(x > 0.0) || !std::isfinite(x)) {
        throw Error(phrase("{} mg/kg is no limit", x), limit_words::where(limit), phrase("write a number above 0"));
    }
    const bool at = limit.comparison == Comparison::at_or_over;
    if (!limit.rounding_mg_per_kg) return {x, at};
    const double step = *limit.rounding_mg_per_kg;
    if (!(step > 0.0) || !std::isfinite(step)) {
        throw Error(fmt::format("results cannot be rounded to {} mg/kg", step), limit_words::where(limit),
                    "write a rounding step above 0, or none");
    }
    const double steps = x / step;
    const double first =
        at ? std::ceil(steps - limit_words::step_slack) : std::floor(steps + limit_words::step_slack) + 1.0;
    return {(first - 0.5 - limit_words::step_slack) * step, true};
}

double rounded_to_step(double value_mg_per_kg, double step_mg_per_kg) {
    return std::floor(value_mg_per_kg / step_mg_per_kg + 0.5 + limit_words::step_slack) * step_mg_per_kg;
}

bool breaks_limit(double value_mg_per_kg, const Limit& limit) {
    return breaking_point(limit).breaks(value_mg_per_kg);
}

LimitOutcome outcome_of(Reading reading, double don_mg_per_kg, const Limit& limit, double guard_mg_per_kg) {
    const BreakingPoint point = breaking_point(limit);
    const double bound = std::min(limit.limit_mg_per_kg, point.mg_per_kg);
    switch (reading) {
        case Reading::value:
            if (point.breaks(don_mg_per_kg)) return LimitOutcome::breaks;
            return guard_mg_per_kg > 0.0 && don_mg_per_kg > point.mg_per_kg - guard_mg_per_kg ? LimitOutcome::undecided
                                                                                              : LimitOutcome::meets;
        case Reading::below:
            return don_mg_per_kg <= bound ? LimitOutcome::meets : LimitOutcome::undecided;
        case Reading::above:
            return don_mg_per_kg >= bound ? LimitOutcome::breaks : LimitOutcome::undecided;
        case Reading::invalid:
            return LimitOutcome::undecided;
    }
    return LimitOutcome::undecided;
}

double conformity_probability(double value_mg_per_kg, double standard_uncertainty_mg_per_kg, double limit_mg_per_kg) {
    if (!(standard_uncertainty_mg_per_kg > 0.0)) {
        throw Error(fmt::format("a standard uncertainty of {} mg/kg is none", standard_uncertainty_mg_per_kg), "",
                    "give one above 0");
    }
    return normal::cdf((limit_mg_per_kg - value_mg_per_kg) / standard_uncertainty_mg_per_kg);
}

bool official_control_rejects(double value_mg_per_kg, double expanded_uncertainty_mg_per_kg, double limit_mg_per_kg) {
    return value_mg_per_kg - expanded_uncertainty_mg_per_kg > limit_mg_per_kg;
}

bool holds_on(const Limit& limit, LocalDay day) {
    return (!limit.from || *limit.from <= day) && (!limit.to || day <= *limit.to);
}

Limit choose_limit(const std::vector<Limit>& limits, const LimitQuestion& question) {
    if (limits.empty()) throw Error("there are no limits", "limits", "import a limits table, or give a number");
    const std::string asked = limit_words::question_in_words(question);
    std::vector<const Limit*> left;
    for (const Limit& limit : limits) left.push_back(&limit);

    // One question after the other, so that a refusal can say which of them nothing answers.
    const auto keep = [&](const std::function<bool(const Limit&)>& answers, const std::string& of_what,
                          const std::function<std::string(const Limit&)>& has) {
        std::vector<const Limit*> kept;
        std::vector<std::string> had;
        for (const Limit* limit : left) {
            if (answers(*limit)) kept.push_back(limit);
            had.push_back(has(*limit));
        }
        if (kept.empty()) {
            throw Error(fmt::format("no limit for {}; there are limits by {} for: {}", asked, of_what,
                                    limit_words::listed(had)),
                        "limits", "name one of these, or add the limit with its source");
        }
        left = kept;
    };
    keep([&](const Limit& limit) { return limit_words::fits(question.jurisdiction, limit.jurisdiction); },
         "jurisdiction", [](const Limit& limit) { return limit.jurisdiction; });
    keep([&](const Limit& limit) { return limit_words::fits(question.commodity, limit.commodity); }, "commodity",
         [](const Limit& limit) { return limit.commodity; });
    keep([&](const Limit& limit) { return !question.purpose || *question.purpose == limit.purpose; }, "purpose",
         [](const Limit& limit) { return in_words(limit.purpose); });
    keep([&](const Limit& limit) { return limit_words::fits(question.stage, limit.stage); }, "stage",
         [](const Limit& limit) { return limit.stage.empty() ? std::string("any stage") : limit.stage; });
    keep([&](const Limit& limit) { return !question.day || holds_on(limit, *question.day); }, "date",
         [](const Limit& limit) { return limit.limit_id + " (" + limit_words::dates_in_words(limit) + ")"; });
    if (left.size() > 1) {
        std::vector<std::string> names;
        for (const Limit* limit : left) {
            names.push_back(fmt::format("{} ({}, {} {})", limit->limit_id, in_words(*limit), limit->jurisdiction,
                                        limit->commodity));
        }
        throw Error(fmt::format("{} limits fit{}{}: {}", left.size(), asked.empty() ? "" : " ", asked,
                                limit_words::listed(names)),
                    "limits", "name the one that is meant by its limit_id");
    }
    return *left.front();
}

Limit limit_from_text(std::string_view text, const std::vector<Limit>& limits, std::optional<LocalDay> day) {
    std::vector<std::string> known, others;  // limits of wheat that still hold are the likelier ones
    for (const Limit& limit : limits) {
        if (limit.limit_id == text) {
            if (day && !holds_on(limit, *day)) {
                throw Error(
                    phrase("it does not hold on {} (it holds {})", to_text(*day), limit_words::dates_in_words(limit)),
                    phrase("limit {}", limit.limit_id), phrase("name the limit that was in force that day"));
            }
            return limit;
        }
        const bool of_wheat = limit.commodity == "wheat" || limit.commodity == "durum";
        (of_wheat && !limit.to ? known : others).push_back(limit.limit_id);
    }
    known.insert(known.end(), others.begin(), others.end());
    double value = 0.0;
    const auto [end, failed] = std::from_chars(text.data(), text.data() + text.size(), value);
    const bool whole = failed == std::errc() && end == text.data() + text.size();
    if (!whole || !std::isfinite(value)) {
        if (text.find(',') != std::string_view::npos &&
            text.find_first_not_of("0123456789,") == std::string_view::npos) {
            throw Error(phrase("\"{}\" has a decimal comma", text), phrase("limit"),
                        phrase("write the number with a point, in mg/kg"));
        }
        throw Error(phrase("\"{}\" is neither a limit_id nor a number", text), phrase("limit"),
                    phrase("write a number in mg/kg, or a limit_id; {}",
                           mend_of_unknown_name(text, known, "lodicule export STORE limits --out -")));
    }
    if (value <= 0.0)
        throw Error(phrase("{} mg/kg is no limit", text), phrase("limit"), phrase("write a number above 0"));
    Limit limit;
    limit.limit_id = std::string(text);
    limit.limit_mg_per_kg = value;
    limit.kind = LimitKind::contract;
    limit.source = "given by hand";
    return limit;
}

std::string number_in_words(const Limit& limit) {
    return limit_words::exact(limit.limit_mg_per_kg);
}

std::string in_words(const Limit& limit) {
    std::string text = limit.comparison == Comparison::over ? phrase("over {} mg/kg", number_in_words(limit))
                                                            : phrase("{} mg/kg and more", number_in_words(limit));
    if (limit.rounding_mg_per_kg) text += phrase(", rounded to {}", limit_words::exact(*limit.rounding_mg_per_kg));
    return text;
}

std::string estimate_in_words(double mg_per_kg) {
    return said(fmt::format("{:.{}f}", mg_per_kg, mg_per_kg >= 9.95 ? 0 : mg_per_kg >= 0.995 ? 1 : 2));
}

std::string content_in_words(double mg_per_kg, std::optional<double> compared_with) {
    const auto short_text = [](double value) {
        if (!(value > 0.0)) return said("0.0");
        const int decimals = std::clamp(2 - static_cast<int>(std::floor(std::log10(value))), 0, 6);
        std::string text = fmt::format("{:.{}f}", value, decimals);
        if (const auto point = text.find('.'); point != std::string::npos) {
            text.erase(std::max(text.find_last_not_of('0'), point + 1) + 1);
        }
        return said(text);
    };
    const std::string text = short_text(mg_per_kg);
    if (compared_with && *compared_with != mg_per_kg && text == short_text(*compared_with)) {
        return limit_words::exact(mg_per_kg);
    }
    return text;
}

std::string chance_in_words(double chance, std::optional<double> compared_with) {
    const double percent = 100.0 * chance;
    if (compared_with) {
        const double other = 100.0 * *compared_with;
        for (int decimals = 0; decimals <= 3; ++decimals) {
            const std::string text = fmt::format("{:.{}f}", percent, decimals);
            if (decimals > 0 && text != fmt::format("{:.{}f}", other, decimals)) return said(text + " %");
            if (decimals == 0 && text != fmt::format("{:.0f}", other)) break;
        }
    }
    if (percent < 1.0) return phrase("under 1 %");
    if (percent > 99.0) return phrase("over 99 %");
    return fmt::format("{:.0f} %", percent);
}

}  // namespace models
