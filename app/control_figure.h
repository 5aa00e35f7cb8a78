#pragma once

#include <string>
#include <vector>

#include "app/drawing/painter.h"
#include "app/drawing/palette.h"
#include "app/stages/control_stage.h"

namespace app {

/// The charts of a bench: one panel a control and kit lot with its readings in order, the centre line, one, two and
/// three standard deviations of a point, the bounds that the control accepts, and below it the ranges with their limit;
/// readings that break a rule or lie outside those bounds are ringed and numbered, and what the number means stands
/// beside the panel in words. A panel
/// of duplicates shows their relative difference over their content. Greys and one accent: nothing is coloured by
/// whether it is good. Controls that were read once with a kit lot have no panel and are listed below.
struct ControlFigure {
    std::string title, subtitle;
    std::vector<models::ControlChart> charts;
    std::vector<models::DuplicateChart> duplicates;  ///< those with pairs are drawn
    std::string read_once = {};                      ///< charts of a single reading, in words below the panels

    std::size_t panels() const;
};
ControlFigure control_figure_of(const ControlView& view, const ControlQuestion& question);

/// Draws `panels` of them from panel `first` on, as many as there are, with the title above and what the marks mean
/// below.
void draw_control_figure(drawing::Painter& painter, const drawing::Rect& area, const ControlFigure& figure,
                         const drawing::Look& look, std::size_t first = 0, std::size_t panels = 1000);

/// A PNG, SVG or PDF file of it, by the end of its name: one tall picture, or pages of three panels.
/// @throws models::Error  another kind of file; nothing to draw; the folder cannot be written
void write_control_figure(const std::string& path, const ControlFigure& figure);

}  // namespace app
