#include "app/result_words.h"

#include "app/drawing/numbers.h"
#include "models/decision/limit_rule.h"
#include "models/spoken.h"

namespace app {

std::string reads_cell(models::Reading reading, double don_mg_per_kg) {
    switch (reading) {
        case models::Reading::value:
            return models::content_in_words(don_mg_per_kg);
        case models::Reading::below:
            return "< " + models::content_in_words(don_mg_per_kg);
        case models::Reading::above:
            return "> " + models::content_in_words(don_mg_per_kg);
        case models::Reading::invalid:
            break;
    }
    return models::phrase("void");
}

std::string interval_cell(const models::TrueContent& truth) {
    if (truth.low90_mg_per_kg && truth.high90_mg_per_kg)
        return drawing::interval_text(*truth.low90_mg_per_kg, *truth.high90_mg_per_kg);
    if (truth.high90_mg_per_kg) return models::phrase("at most {}", drawing::number_text(*truth.high90_mg_per_kg));
    return models::phrase("at least {}", drawing::number_text(*truth.low90_mg_per_kg));
}

}  // namespace app
