#pragma once

#include <optional>
#include <string>
#include <vector>

#include "app/drawing/axis.h"
#include "app/language.h"

namespace app::drawing {

/// The unit in which contents of DON are shown. Everything is kept, computed and asked about in mg/kg; only what is
/// drawn follows. 1 mg/kg is 1 ppm by mass, 1000 ug/kg and 1000 ppb (definitions).
enum class ContentUnit { mg_per_kg, ug_per_kg, ppm, ppb };
inline constexpr ContentUnit content_units[] = {ContentUnit::mg_per_kg, ContentUnit::ug_per_kg, ContentUnit::ppm,
                                                ContentUnit::ppb};

/// The word that --units takes, and back: "mg/kg", "ug/kg", "ppm", "ppb".
const char* word_of(ContentUnit unit);
std::optional<ContentUnit> unit_named(const std::string& word);
const char* name_of(ContentUnit unit);  ///< as it is drawn: "µg/kg"

/// While it lives, what this thread draws is in that unit; without one it is mg/kg, as in every picture, page and
/// table. Sentences that were made beside (reasons, verdicts, refusals) name mg/kg themselves and stay.
class ShownIn {
 public:
    explicit ShownIn(ContentUnit unit);
    ~ShownIn();
    ShownIn(const ShownIn&) = delete;
    ShownIn& operator=(const ShownIn&) = delete;

 private:
    ContentUnit before_;
};
ContentUnit shown_unit();
double in_shown_unit(double mg_per_kg);
double from_shown_unit(double shown);  ///< mg/kg

/// A sentence that speaks of mg/kg, in the unit that is shown.
std::string with_unit(const char* words);
/// One of the catalogue, in the language that is spoken, its places filled.
template <typename First, typename... Rest>
std::string with_unit(std::type_identity_t<Sentence<First, Rest...>> sentence, First&& first, Rest&&... rest) {
    return models::filled(with_unit(spoken(sentence.word)).c_str(), first, rest...);
}

/// Numbers of a content in the unit that is shown, with the digits that number_text (app/drawing/numbers.h) gives it in
/// mg/kg, whatever the unit: 0.0343 -> "0.034" or "34"; 1.254 -> "1.3" or "1300"; 12.34 -> "12.3" or "12 300".
std::string content_text(double mg_per_kg);
std::string content_interval_text(double low_mg_per_kg, double high_mg_per_kg);  ///< "0.40 to 2.1", "400 to 2100"
std::string content_and_unit_text(double mg_per_kg);                             ///< "1.3 mg/kg"
/// As it was set, of limits: 1.25 -> "1.25" or "1250".
std::string set_content_text(double mg_per_kg);
/// log_ticks of contents: values in mg/kg, labels in the unit that is shown.
std::vector<Tick> content_ticks(double low_mg_per_kg, double high_mg_per_kg, int most);

}  // namespace app::drawing
