#include "app/drawing/content_unit.h"

#include <cmath>

#include <fmt/format.h>

#include "app/drawing/numbers.h"
#include "app/words.h"

namespace app::drawing {

namespace {

// Of the thread that draws frames; work beside it makes no numbers without their unit.
thread_local ContentUnit unit_shown_here = ContentUnit::mg_per_kg;

bool in_thousandths(ContentUnit unit) {
    return unit == ContentUnit::ug_per_kg || unit == ContentUnit::ppb;
}

}  // namespace

const char* word_of(ContentUnit unit) {
    return unit == ContentUnit::ug_per_kg ? "ug/kg" : name_of(unit);
}

std::optional<ContentUnit> unit_named(const std::string& word) {
    for (const ContentUnit unit : content_units)
        if (word == word_of(unit) || word == name_of(unit)) return unit;
    return std::nullopt;
}

const char* name_of(ContentUnit unit) {
    switch (unit) {
        case ContentUnit::mg_per_kg:
            return spoken(words::unit_mg_per_kg);
        case ContentUnit::ug_per_kg:
            return spoken(words::unit_ug_per_kg);
        case ContentUnit::ppm:
            return spoken(words::unit_ppm);
        case ContentUnit::ppb:
            return spoken(words::unit_ppb);
    }
    return "";
}

ShownIn::ShownIn(ContentUnit unit) : before_(unit_shown_here) {
    unit_shown_here = unit;
}

ShownIn::~ShownIn() {
    unit_shown_here = before_;
}

ContentUnit shown_unit() {
    return unit_shown_here;
}

double in_shown_unit(double mg_per_kg) {
    return in_thousandths(unit_shown_here) ? mg_per_kg * 1000.0 : mg_per_kg;
}

double from_shown_unit(double shown) {
    return in_thousandths(unit_shown_here) ? shown / 1000.0 : shown;
}

std::string with_unit(const char* words) {
    std::string sentence = words;
    const std::string kept_in = spoken(words::unit_mg_per_kg), shown = name_of(unit_shown_here);
    for (std::size_t at = sentence.find(kept_in); at != std::string::npos;
         at = sentence.find(kept_in, at + shown.size()))
        sentence.replace(at, kept_in.size(), shown);
    return sentence;
}

std::string content_text(double mg_per_kg) {
    if (!in_thousandths(unit_shown_here) || !std::isfinite(mg_per_kg)) return number_text(mg_per_kg);
    const double size = std::abs(mg_per_kg);
    // The place of the last digit that is told in mg/kg: tenths from 1 up, two digits below.
    double last_place = 0.1;
    if (size < 0.995) last_place = size < 5e-7 ? 1e-6 : std::pow(10.0, std::floor(std::log10(size)) - 1.0);
    const double rounded = std::round(mg_per_kg / last_place) * last_place * 1000.0;
    if (std::abs(rounded) < 9.95) return models::said(fmt::format("{:.3g}", rounded == 0.0 ? 0.0 : rounded));
    return axis_number_text(rounded, 1.0);
}

std::string content_interval_text(double low_mg_per_kg, double high_mg_per_kg) {
    return spoken(words::from_to, content_text(low_mg_per_kg), content_text(high_mg_per_kg));
}

std::string content_and_unit_text(double mg_per_kg) {
    return with_unit(words::mg_per_kg, content_text(mg_per_kg));
}

std::string set_content_text(double mg_per_kg) {
    if (!in_thousandths(unit_shown_here) || !std::isfinite(mg_per_kg)) return set_number_text(mg_per_kg);
    // A product of a thousand is not the number that was typed; ten digits of it are.
    const std::string shortest = fmt::format("{:.10g}", mg_per_kg * 1000.0);
    return std::abs(mg_per_kg) >= 9.9995 && shortest.find('.') == std::string::npos
               ? axis_number_text(mg_per_kg * 1000.0, 1.0)
               : models::said(shortest);
}

std::vector<Tick> content_ticks(double low_mg_per_kg, double high_mg_per_kg, int most) {
    std::vector<Tick> ticks = log_ticks(in_shown_unit(low_mg_per_kg), in_shown_unit(high_mg_per_kg), most);
    for (Tick& tick : ticks) tick.value = from_shown_unit(tick.value);
    return ticks;
}

}  // namespace app::drawing
