#include "models/decision/model_reading_law.h"

#include <cmath>
#include <limits>

namespace models {

ReadingLaw reading_law_of(const ContaminationModel& model, const TestDesign& design) {
    const TestLaw own = model.test_law(design);
    ReadingLaw law;
    law.log_density = [model, design, own](const PossibleReading& reading, const Eigen::ArrayXd& true_mg_per_kg) {
        const double bound = reading.don_mg_per_kg;
        // The model's law speaks of its own working range; another bound is the range of another test.
        TestLaw asked = own;
        TestDesign other = design;
        if (reading.reading == Reading::below && bound != design.low_mg_per_kg) {
            other.low_mg_per_kg = bound;
            other.high_mg_per_kg = 0.0;
            asked = model.test_law(other);
        }
        if (reading.reading == Reading::above && bound != design.high_mg_per_kg) {
            other.low_mg_per_kg = 0.0;
            other.high_mg_per_kg = bound;
            asked = model.test_law(other);
        }
        Eigen::ArrayXd out(true_mg_per_kg.size());
        for (Eigen::Index i = 0; i < out.size(); ++i) {
            double density = 1.0;
            switch (reading.reading) {
                case Reading::value:
                    density = asked.density(bound, true_mg_per_kg[i]);
                    break;
                case Reading::below:
                    density = asked.below_range(true_mg_per_kg[i]);
                    break;
                case Reading::above:
                    density = asked.above_range(true_mg_per_kg[i]);
                    break;
                case Reading::invalid:
                    break;
            }
            out[i] = density > 0.0 ? std::log(density) : -std::numeric_limits<double>::infinity();
        }
        return out;
    };
    law.sample = [own](double true_mg_per_kg, double u, double v) {
        const AssayResult result = own.draw(true_mg_per_kg, u, v);
        return PossibleReading{result.reading, result.don_mg_per_kg};
    };
    return law;
}

}  // namespace models
