#include "app/drawing/code.h"

#include <algorithm>
#include <memory>

#include <fmt/format.h>
#include <zint.h>

#include "models/error.h"

namespace app::drawing {

namespace {

constexpr Colour code_paper{255, 255, 255}, code_ink{0, 0, 0};  // a scanner wants the full contrast

struct ReleaseSymbol {
    void operator()(zint_symbol* symbol) const { ZBarcode_Delete(symbol); }
};

}  // namespace

void draw_code(Painter& painter, const Rect& area, const std::string& words, CodeKind kind) {
    const std::unique_ptr<zint_symbol, ReleaseSymbol> symbol(ZBarcode_Create());
    if (!symbol) throw models::Error("not enough memory for a code");
    symbol->symbology = kind == CodeKind::qr ? BARCODE_QRCODE : BARCODE_CODE128;
    symbol->input_mode = UNICODE_MODE;
    symbol->output_options |= BARCODE_QUIET_ZONES;
    symbol->show_hrt = 0;
    const int told = ZBarcode_Encode_and_Buffer_Vector(
        symbol.get(), reinterpret_cast<const unsigned char*>(words.data()), static_cast<int>(words.size()), 0);
    if (told >= ZINT_ERROR || symbol->vector == nullptr) {
        throw models::Error(fmt::format("\"{:.40}\" cannot be written as a code ({})", words, symbol->errtxt), "sample",
                            "give a shorter code of plain letters and digits");
    }
    painter.rect(area, code_paper);
    const zint_vector& drawn = *symbol->vector;
    const double across = area.width / static_cast<double>(drawn.width);
    const double down = area.height / static_cast<double>(drawn.height);
    // A square stays square; bars may be as high as there is room.
    const double x_scale = kind == CodeKind::qr ? std::min(across, down) : across;
    const double y_scale = kind == CodeKind::qr ? x_scale : down;
    const double x0 = area.x + 0.5 * (area.width - x_scale * static_cast<double>(drawn.width));
    const double y0 = area.y + 0.5 * (area.height - y_scale * static_cast<double>(drawn.height));
    for (const zint_vector_rect* bar = drawn.rectangles; bar != nullptr; bar = bar->next) {
        painter.rect({x0 + x_scale * static_cast<double>(bar->x), y0 + y_scale * static_cast<double>(bar->y),
                      x_scale * static_cast<double>(bar->width), y_scale * static_cast<double>(bar->height)},
                     code_ink);
    }
}

}  // namespace app::drawing
