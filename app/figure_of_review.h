#pragma once

#include <string>

#include "app/drawing/figures/review_figure.h"
#include "app/workflow.h"

namespace app {

/// What past seasons teach as one figure, the thick curve that of one model.
drawing::ReviewFigure review_figure_of(const SeasonsReviewed& review, const models::DiseaseModel& model);

/// A PNG, SVG or PDF file of it, by the end of its name.
/// @throws models::Error  another kind of file; the folder cannot be written
void write_review_figure(const std::string& path, const drawing::ReviewFigure& figure);

}  // namespace app
