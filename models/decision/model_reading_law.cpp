#include "models/decision/model_reading_law.h"

namespace models {

ReadingLaw reading_law_of(const ContaminationModel& model, const TestDesign& design) {
    return model.reading_law(design);
}

}  // namespace models
