#include "app/drawing/cairo_painter.h"

#include <cairo-ft.h>
#include <cairo-pdf.h>
#include <cairo.h>
#include <ft2build.h>
#include FT_FREETYPE_H

#include <algorithm>
#include <filesystem>
#include <fstream>
#include <memory>
#include <numbers>

#include "app/drawing/fonts.h"
#include "geo/whole_file.h"
#include "models/error.h"

namespace app::drawing {

namespace {

struct SurfaceCloser {
    void operator()(cairo_surface_t* surface) const { cairo_surface_destroy(surface); }
};
using Surface = std::unique_ptr<cairo_surface_t, SurfaceCloser>;

/// The two faces as Cairo wants them. Cairo keeps a face for as long as its own caches like, so FreeType's side is
/// handed over to it and closed when Cairo lets go.
class CairoFonts {
 public:
    CairoFonts() : regular_(load(fonts().regular)), bold_(load(fonts().bold)) {}
    ~CairoFonts() {
        cairo_font_face_destroy(regular_);
        cairo_font_face_destroy(bold_);
    }
    CairoFonts(const CairoFonts&) = delete;
    CairoFonts& operator=(const CairoFonts&) = delete;
    cairo_font_face_t* face(Weight weight) const { return weight == Weight::bold ? bold_ : regular_; }

 private:
    struct Held {
        FT_Library library = nullptr;
        FT_Face face = nullptr;
    };
    static void let_go(void* data) {
        const std::unique_ptr<Held> held(static_cast<Held*>(data));
        if (held->face) FT_Done_Face(held->face);
        if (held->library) FT_Done_FreeType(held->library);
    }
    static cairo_font_face_t* load(const FontFile& file) {
        auto held = std::make_unique<Held>();
        if (FT_Init_FreeType(&held->library) != 0 ||
            FT_New_Memory_Face(held->library, file.bytes.data(), static_cast<FT_Long>(file.bytes.size()), file.number,
                               &held->face) != 0) {
            let_go(held.release());
            throw models::Error("the font cannot be opened", file.path);
        }
        static const cairo_user_data_key_t key = {};
        cairo_font_face_t* face = cairo_ft_font_face_create_for_ft_face(held->face, FT_LOAD_NO_HINTING);
        if (cairo_font_face_set_user_data(face, &key, held.get(), let_go) == CAIRO_STATUS_SUCCESS) held.release();
        return face;
    }

    cairo_font_face_t* regular_;
    cairo_font_face_t* bold_;
};

std::uint32_t premultiplied(std::uint32_t abgr) {
    const std::uint32_t alpha = abgr >> 24;
    const auto part = [&](int shift) { return (((abgr >> shift) & 0xFFu) * alpha + 127u) / 255u; };
    return alpha << 24 | part(0) << 16 | part(8) << 8 | part(16);
}

Surface surface_of(const Image& picture) {
    Surface pixels(cairo_image_surface_create(CAIRO_FORMAT_ARGB32, picture.width, picture.height));
    if (cairo_surface_status(pixels.get()) != CAIRO_STATUS_SUCCESS) return pixels;
    cairo_surface_flush(pixels.get());
    unsigned char* data = cairo_image_surface_get_data(pixels.get());
    const int stride = cairo_image_surface_get_stride(pixels.get());
    for (int row = 0; row < picture.height; ++row) {
        auto* out = reinterpret_cast<std::uint32_t*>(data + static_cast<std::ptrdiff_t>(row) * stride);
        for (int column = 0; column < picture.width; ++column)
            out[column] = premultiplied(picture.rgba[static_cast<std::size_t>(row) * picture.width + column]);
    }
    cairo_surface_mark_dirty(pixels.get());
    return pixels;
}

class CairoPainter final : public Painter {
 public:
    CairoPainter(cairo_surface_t* surface, const CairoFonts& faces) : cairo_(cairo_create(surface)), faces_(&faces) {
        cairo_font_options_t* options = cairo_font_options_create();
        cairo_font_options_set_antialias(options, CAIRO_ANTIALIAS_GRAY);
        cairo_font_options_set_hint_style(options, CAIRO_HINT_STYLE_NONE);
        cairo_font_options_set_hint_metrics(options, CAIRO_HINT_METRICS_OFF);
        cairo_set_font_options(cairo_, options);
        cairo_font_options_destroy(options);
        cairo_set_line_join(cairo_, CAIRO_LINE_JOIN_ROUND);
        cairo_set_fill_rule(cairo_, CAIRO_FILL_RULE_EVEN_ODD);
    }
    ~CairoPainter() override { cairo_destroy(cairo_); }
    CairoPainter(const CairoPainter&) = delete;
    CairoPainter& operator=(const CairoPainter&) = delete;

    void rect(const Rect& area, Colour fill) override {
        cairo_rectangle(cairo_, area.x, area.y, area.width, area.height);
        colour(fill);
        cairo_fill(cairo_);
    }
    void outline(const Rect& area, Colour line, double width) override {
        cairo_rectangle(cairo_, area.x, area.y, area.width, area.height);
        stroke(line, width);
    }
    void polyline(const std::vector<Point>& points, Colour line, double width, bool closed, bool dashed) override {
        if (points.size() < 2) return;
        trace(points, closed);
        const double dashes[] = {4.0 * width, 3.0 * width};
        if (dashed) cairo_set_dash(cairo_, dashes, 2, 0.0);
        stroke(line, width);
        if (dashed) cairo_set_dash(cairo_, nullptr, 0, 0.0);
    }
    void polygon(const std::vector<std::vector<Point>>& rings, Colour fill) override {
        for (const auto& ring : rings)
            if (ring.size() > 2) trace(ring, true);
        colour(fill);
        cairo_fill(cairo_);
    }
    void disc(Point centre, double radius, Colour fill) override {
        cairo_new_sub_path(cairo_);
        cairo_arc(cairo_, centre.x, centre.y, radius, 0.0, 2.0 * std::numbers::pi);
        colour(fill);
        cairo_fill(cairo_);
    }
    void circle(Point centre, double radius, Colour line, double width) override {
        cairo_new_sub_path(cairo_);
        cairo_arc(cairo_, centre.x, centre.y, radius, 0.0, 2.0 * std::numbers::pi);
        stroke(line, width);
    }
    void image(const Image& picture, const Rect& area) override {
        if (picture.width <= 0 || picture.height <= 0 || area.width <= 0.0 || area.height <= 0.0) return;
        const Surface pixels = surface_of(picture);
        if (cairo_surface_status(pixels.get()) != CAIRO_STATUS_SUCCESS) return;
        cairo_save(cairo_);
        cairo_translate(cairo_, area.x, area.y);
        cairo_scale(cairo_, area.width / picture.width, area.height / picture.height);
        cairo_set_source_surface(cairo_, pixels.get(), 0.0, 0.0);
        // Enlarged cells keep their edges: a blurred cell would claim more than was computed.
        const bool enlarged = area.width > picture.width;
        cairo_pattern_set_filter(cairo_get_source(cairo_), enlarged ? CAIRO_FILTER_NEAREST : CAIRO_FILTER_GOOD);
        cairo_rectangle(cairo_, 0.0, 0.0, picture.width, picture.height);
        cairo_fill(cairo_);
        cairo_restore(cairo_);
    }
    void text(Point baseline, std::string_view words, double size, Colour ink, Align align, Weight weight) override {
        if (words.empty()) return;
        const SetLine line = set_line(words, weight);
        const double share = align == Align::left ? 0.0 : align == Align::centre ? 0.5 : 1.0;
        const double x = baseline.x - share * line.width * size;
        std::vector<cairo_glyph_t> glyphs;
        std::vector<cairo_text_cluster_t> clusters;
        for (const auto& glyph : line.glyphs) {
            glyphs.push_back({glyph.index, x + glyph.offset * size, baseline.y});
            clusters.push_back({glyph.byte_count, 1});
        }
        cairo_set_font_face(cairo_, faces_->face(weight));
        cairo_set_font_size(cairo_, size);
        colour(ink);
        const auto count = static_cast<int>(glyphs.size());
        if (cairo_surface_has_show_text_glyphs(cairo_get_target(cairo_)))
            cairo_show_text_glyphs(cairo_, words.data(), static_cast<int>(words.size()), glyphs.data(), count,
                                   clusters.data(), count, static_cast<cairo_text_cluster_flags_t>(0));
        else
            cairo_show_glyphs(cairo_, glyphs.data(), count);
    }
    void vertical_text(Point baseline, std::string_view words, double size, Colour ink, Align align) override {
        cairo_save(cairo_);
        cairo_translate(cairo_, baseline.x, baseline.y);
        cairo_rotate(cairo_, -0.5 * std::numbers::pi);
        text({0.0, 0.0}, words, size, ink, align, Weight::regular);
        cairo_restore(cairo_);
    }
    double text_width(std::string_view words, double size, Weight weight) const override {
        return width_of(words, size, weight);
    }
    void push_clip(const Rect& area) override {
        cairo_save(cairo_);
        cairo_rectangle(cairo_, area.x, area.y, area.width, area.height);
        cairo_clip(cairo_);
    }
    void pop_clip() override { cairo_restore(cairo_); }

    cairo_status_t status() const { return cairo_status(cairo_); }

 private:
    void colour(Colour c) {
        cairo_set_source_rgba(cairo_, c.red / 255.0, c.green / 255.0, c.blue / 255.0, c.alpha / 255.0);
    }
    void stroke(Colour line, double width) {
        colour(line);
        cairo_set_line_width(cairo_, width);
        cairo_stroke(cairo_);
    }
    void trace(const std::vector<Point>& points, bool closed) {
        cairo_new_sub_path(cairo_);
        for (const auto& point : points) cairo_line_to(cairo_, point.x, point.y);
        if (closed) cairo_close_path(cairo_);
    }

    cairo_t* cairo_;
    const CairoFonts* faces_;
};

cairo_status_t append(void* text, const unsigned char* bytes, unsigned int count) {
    static_cast<std::string*>(text)->append(reinterpret_cast<const char*>(bytes), count);
    return CAIRO_STATUS_SUCCESS;
}

void expect_success(cairo_status_t status, const char* what) {
    if (status != CAIRO_STATUS_SUCCESS)
        throw models::Error(std::string(what) + " cannot be drawn (" + cairo_status_to_string(status) + ")");
}

}  // namespace

std::string png_bytes(int width, int height, Colour ground, const Drawing& draw) {
    if (width <= 0 || height <= 0 || static_cast<long long>(width) * height > 400'000'000 || width > 32767 ||
        height > 32767)
        throw models::Error(
            "a picture of " + std::to_string(width) + " x " + std::to_string(height) + " pixels cannot be made", "",
            "choose sides between 1 and 32767 and no more than 400 million pixels");
    const CairoFonts faces;
    const Surface surface(cairo_image_surface_create(CAIRO_FORMAT_RGB24, width, height));
    expect_success(cairo_surface_status(surface.get()), "the picture");
    CairoPainter painter(surface.get(), faces);
    painter.rect({0.0, 0.0, static_cast<double>(width), static_cast<double>(height)}, ground);
    draw(painter);
    expect_success(painter.status(), "the picture");
    cairo_surface_flush(surface.get());
    std::string bytes;
    expect_success(cairo_surface_write_to_png_stream(surface.get(), append, &bytes), "the picture");
    return bytes;
}

std::string png_of(const Image& picture) {
    const Surface surface = surface_of(picture);
    expect_success(cairo_surface_status(surface.get()), "the image");
    std::string bytes;
    expect_success(cairo_surface_write_to_png_stream(surface.get(), append, &bytes), "the image");
    return bytes;
}

std::string pdf_bytes(const std::vector<PdfPage>& pages, const std::string& title) {
    if (pages.empty()) throw models::Error("a PDF without pages cannot be made");
    const CairoFonts faces;
    std::string bytes;
    {
        const Surface surface(cairo_pdf_surface_create_for_stream(append, &bytes, pages[0].width, pages[0].height));
        expect_success(cairo_surface_status(surface.get()), "the PDF");
        cairo_pdf_surface_set_metadata(surface.get(), CAIRO_PDF_METADATA_TITLE, title.c_str());
        cairo_pdf_surface_set_metadata(surface.get(), CAIRO_PDF_METADATA_CREATOR, "lodicule");
        // Cairo would write the clock; the same pages shall give the same bytes.
        cairo_pdf_surface_set_metadata(surface.get(), CAIRO_PDF_METADATA_CREATE_DATE, "2000-01-01T00:00:00Z");
        cairo_pdf_surface_set_metadata(surface.get(), CAIRO_PDF_METADATA_MOD_DATE, "2000-01-01T00:00:00Z");
        for (const auto& page : pages) {
            cairo_pdf_surface_set_size(surface.get(), page.width, page.height);
            CairoPainter painter(surface.get(), faces);
            page.draw(painter);
            expect_success(painter.status(), "the PDF");
            cairo_surface_show_page(surface.get());
        }
        cairo_surface_finish(surface.get());
        expect_success(cairo_surface_status(surface.get()), "the PDF");
    }
    return bytes;
}

void write_png(const std::string& path, int width, int height, Colour ground, const Drawing& draw) {
    geo::write_whole_file(path, png_bytes(width, height, ground, draw));
}

void write_pdf(const std::string& path, const std::vector<PdfPage>& pages, const std::string& title) {
    geo::write_whole_file(path, pdf_bytes(pages, title));
}

}  // namespace app::drawing
