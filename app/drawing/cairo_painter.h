#pragma once

#include <functional>
#include <string>
#include <vector>

#include "app/drawing/painter.h"

namespace app::drawing {

using Drawing = std::function<void(Painter&)>;

/// The bytes of a PNG file of that many pixels, on that ground. The same drawing gives the same bytes.
/// @throws models::Error  no pixels or more than 400 million of them; fonts are missing
std::string png_bytes(int width, int height, Colour ground, const Drawing& draw);

/// The bytes of a PNG file that holds just this image, its transparency kept.
std::string png_of(const Image& picture);

/// One page of a PDF: the size is in points, 1/72 inch, which are the pixels of its drawing.
struct PdfPage {
    double width = 595.0, height = 842.0;  ///< A4 upright
    Drawing draw;
};
/// The bytes of a PDF file with its fonts inside and its text searchable. Carries no clock: the same pages give the
/// same bytes.
std::string pdf_bytes(const std::vector<PdfPage>& pages, const std::string& title);

/// Writes beside the target first and renames, so that no half picture stays behind.
/// @throws models::Error  the folder cannot be written
void write_png(const std::string& path, int width, int height, Colour ground, const Drawing& draw);
void write_pdf(const std::string& path, const std::vector<PdfPage>& pages, const std::string& title);

}  // namespace app::drawing
