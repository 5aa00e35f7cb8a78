#include "app/window/imgui_painter.h"

#include <algorithm>
#include <cmath>
#include <utility>

#include <GL/gl.h>
#include <GL/glext.h>
#include <imgui.h>

#include "app/window/card_areas.h"
#include "app/window/font_set.h"
#include "app/window/triangles.h"

namespace app::window {

using namespace drawing;

namespace {

ImU32 packed(Colour colour) {
    return IM_COL32(colour.red, colour.green, colour.blue, colour.alpha);
}

ImVec2 at(Point origin, Point p) {
    return {static_cast<float>(origin.x + p.x), static_cast<float>(origin.y + p.y)};
}

/// Text is asked for in any size and drawn from the atlas of one: the size is the em in pixels for both.
float pixels(double size) {
    return static_cast<float>(std::round(size));
}

/// Larger areas of one colour are painted as such.
constexpr double least_large_px = 40000.0;

/// 0 where the card has no room for it.
unsigned new_texture(int width, int height, const std::uint32_t* pixels) {
    GLint before = 0;
    glGetIntegerv(GL_TEXTURE_BINDING_2D, &before);
    GLuint texture = 0;
    glGenTextures(1, &texture);
    glBindTexture(GL_TEXTURE_2D, texture);
    glTexParameteri(GL_TEXTURE_2D, GL_TEXTURE_MIN_FILTER, GL_LINEAR);
    glTexParameteri(GL_TEXTURE_2D, GL_TEXTURE_MAG_FILTER, GL_NEAREST);
    glTexParameteri(GL_TEXTURE_2D, GL_TEXTURE_WRAP_S, GL_CLAMP_TO_EDGE);
    glTexParameteri(GL_TEXTURE_2D, GL_TEXTURE_WRAP_T, GL_CLAMP_TO_EDGE);
    while (glGetError() != GL_NO_ERROR) {
    }
    glTexImage2D(GL_TEXTURE_2D, 0, GL_RGBA, width, height, 0, GL_RGBA, GL_UNSIGNED_BYTE, pixels);
    const bool is_there = glGetError() == GL_NO_ERROR;
    glBindTexture(GL_TEXTURE_2D, static_cast<GLuint>(before));
    if (is_there) return texture;
    glDeleteTextures(1, &texture);
    return 0;
}

}  // namespace

TextureStore::~TextureStore() {
    lose_all();
}

template <typename Which>
void TextureStore::drop(Which which) {
    std::erase_if(kept_, [&](const Kept& kept) {
        if (which(kept)) glDeleteTextures(1, &kept.texture);
        return which(kept);
    });
}

void TextureStore::keep(const Kept& kept) {
    if (kept.texture == 0) return;
    kept_.push_back(kept);
    ++made_;
}

void TextureStore::clear() {
    drop([](const Kept& kept) { return kept.pixels != nullptr || kept.is_left(); });
}

void TextureStore::lose_all() {
    drop([](const Kept&) { return true; });
}

unsigned TextureStore::texture_of(const Image& image) {
    if (!enabled_ || image.rgba.empty()) return 0;
    for (const Kept& kept : kept_) {
        if (kept.pixels == image.rgba.data()) return kept.texture;
    }
    if (kept_.size() > 32) clear();
    const unsigned texture = new_texture(image.width, image.height, image.rgba.data());
    keep({texture, image.rgba.data()});
    return texture;
}

TextureStore::Rows TextureStore::rows_of(const Image& image, int band, bool with_neighbours) {
    const int more = with_neighbours ? 1 : 0;
    return {std::max(0, band * band_rows - more), std::min(image.height, (band + 1) * band_rows + more)};
}

unsigned TextureStore::texture_of(const Image& image, const std::shared_ptr<const void>& by, int band) {
    if (!enabled_) return 0;
    drop([](const Kept& kept) { return kept.is_left(); });
    for (const Kept& kept : kept_)
        if (kept.is_band_of(by) && kept.band == band) return kept.texture;
    if (image.rgba.empty()) return 0;
    const Rows rows = rows_of(image, band, true);
    const std::size_t before = static_cast<std::size_t>(rows.first) * static_cast<std::size_t>(image.width);
    const unsigned texture = new_texture(image.width, rows.last - rows.first, image.rgba.data() + before);
    keep({texture, nullptr, by, band});
    return texture;
}

bool TextureStore::keeps(const Image& image, const std::shared_ptr<const void>& by) const {
    return std::count_if(kept_.begin(), kept_.end(), [&](const Kept& kept) { return kept.is_band_of(by); }) ==
           bands_of(image);
}
ImguiPainter::ImguiPainter(ImDrawList& list, const FontSet& fonts, Point origin, TextureStore& textures,
                           std::vector<DrawnText>* drawn)
    : list_(list), fonts_(fonts), origin_(origin), textures_(textures), drawn_(drawn) {}

void ImguiPainter::note_drawn(std::string_view words, const Rect& box) {
    if (drawn_ == nullptr) return;
    const ImVec4& clip = list_._CmdHeader.ClipRect;
    const double left = static_cast<double>(clip.x), top = static_cast<double>(clip.y);
    drawn_->push_back(
        {std::string(words), box, {left, top, static_cast<double>(clip.z) - left, static_cast<double>(clip.w) - top}});
}

void ImguiPainter::rect(const Rect& area, Colour fill) {
    pause();
    if (clears_ && textures_.enabled() && area.width * area.height >= least_large_px) {
        const ImVec2 low = at(origin_, {std::round(area.x), std::round(area.y)});
        const ImVec2 high = at(origin_, {std::round(area.x + area.width), std::round(area.y + area.height)});
        list_.PushClipRect(low, high, true);
        bool painted = true;
        if (fill.alpha == 255)
            add_cleared_area(list_, packed(fill));
        else
            painted = textures_.coats().add(list_, fill);
        list_.PopClipRect();
        if (painted) return;
    }
    list_.AddRectFilled(at(origin_, {area.x, area.y}), at(origin_, {area.x + area.width, area.y + area.height}),
                        packed(fill));
}

void ImguiPainter::outline(const Rect& area, Colour line, double width) {
    pause();
    list_.AddRect(at(origin_, {area.x, area.y}), at(origin_, {area.x + area.width, area.y + area.height}), packed(line),
                  0.0F, 0, static_cast<float>(width));
}

void ImguiPainter::polyline(const std::vector<Point>& points, Colour line, double width, bool closed, bool dashed) {
    pause();
    if (points.size() < 2) return;
    if (!dashed) {
        std::vector<ImVec2> corners;
        corners.reserve(points.size());
        for (const Point& p : points) corners.push_back(at(origin_, p));
        list_.AddPolyline(corners.data(), static_cast<int>(corners.size()), packed(line),
                          closed ? ImDrawFlags_Closed : ImDrawFlags_None, static_cast<float>(width));
        return;
    }
    const double on = 4.0 * width + 2.0, off = 3.0 * width + 2.0;
    double phase = 0.0;
    for (std::size_t i = 0; i + (closed ? 0 : 1) < points.size(); ++i) {
        const Point a = points[i], b = points[(i + 1) % points.size()];
        const double length = std::hypot(b.x - a.x, b.y - a.y);
        if (length <= 0.0) continue;
        const auto along = [&](double s) {
            return Point{a.x + (b.x - a.x) * s / length, a.y + (b.y - a.y) * s / length};
        };
        for (double s = -phase; s < length; s += on + off) {
            const double from = std::max(0.0, s), to = std::min(length, s + on);
            if (to > from) {
                list_.AddLine(at(origin_, along(from)), at(origin_, along(to)), packed(line),
                              static_cast<float>(width));
            }
        }
        phase = std::fmod(phase + length, on + off);
    }
}

void ImguiPainter::polygon(const std::vector<std::vector<Point>>& rings, Colour fill) {
    pause();
    // Neighbouring triangles share edges: drawn with smoothed edges they would show seams.
    const ImDrawListFlags before = list_.Flags;
    list_.Flags &= ~ImDrawListFlags_AntiAliasedFill;
    for (const auto& triangle : triangles_of(rings)) {
        list_.AddTriangleFilled(at(origin_, triangle[0]), at(origin_, triangle[1]), at(origin_, triangle[2]),
                                packed(fill));
    }
    list_.Flags = before;
}

void ImguiPainter::disc(Point centre, double radius, Colour fill) {
    pause();
    if (const FontSet::Disc* baked = fonts_.disc(radius)) {
        const double reach = baked->reach * radius / baked->radius;
        list_.PrimReserve(6, 4);
        list_.PrimRectUV(at(origin_, {centre.x - reach, centre.y - reach}),
                         at(origin_, {centre.x + reach, centre.y + reach}), {baked->left, baked->top},
                         {baked->right, baked->bottom}, packed(fill));
        return;
    }
    list_.AddCircleFilled(at(origin_, centre), static_cast<float>(radius), packed(fill));
}

void ImguiPainter::circle(Point centre, double radius, Colour line, double width) {
    pause();
    list_.AddCircle(at(origin_, centre), static_cast<float>(radius), packed(line), 0, static_cast<float>(width));
}

void ImguiPainter::image(const Image& picture, const Rect& area) {
    pause();
    unsigned texture = 0;
    const auto hand_over = [&] { texture = textures_.texture_of(picture); };
    if (outside_)
        outside_(hand_over);
    else
        hand_over();
    if (texture == 0) return;
    list_.AddImage(reinterpret_cast<ImTextureID>(static_cast<std::uintptr_t>(texture)), at(origin_, {area.x, area.y}),
                   at(origin_, {area.x + area.width, area.y + area.height}));
}

void ImguiPainter::image_known_by(const Image& picture, const std::shared_ptr<const void>& by, const Rect& area) {
    const double row = area.height / picture.height;
    for (int band = 0; band < TextureStore::bands_of(picture); ++band) {
        pause();
        unsigned texture = 0;
        const auto hand_over = [&] { texture = textures_.texture_of(picture, by, band); };
        if (outside_)
            outside_(hand_over);
        else
            hand_over();
        if (texture == 0) continue;
        const auto own = TextureStore::rows_of(picture, band, false), held = TextureStore::rows_of(picture, band, true);
        const auto down = [&](int at_row) {
            return static_cast<float>(at_row - held.first) / static_cast<float>(held.last - held.first);
        };
        list_.AddImage(reinterpret_cast<ImTextureID>(static_cast<std::uintptr_t>(texture)),
                       at(origin_, {area.x, area.y + row * own.first}),
                       at(origin_, {area.x + area.width, area.y + row * own.last}), {0.0F, down(own.first)},
                       {1.0F, down(own.last)});
    }
}

void ImguiPainter::text(Point baseline, std::string_view words, double size, Colour ink, Align align, Weight weight) {
    if (words.empty()) return;
    ImFont* face = fonts_.face(size, weight);
    const double width = text_width(words, size, weight);
    double x = baseline.x;
    if (align == Align::centre) x -= width / 2.0;
    if (align == Align::right) x -= width;
    // ImGui places text by its top; the baseline lies one ascent below it.
    const double ascent = static_cast<double>(face->Ascent) * pixels(size) / static_cast<double>(face->FontSize);
    const ImVec2 top_left = at(origin_, {std::round(x), std::round(baseline.y - ascent)});
    list_.AddText(face, pixels(size), top_left, packed(ink), words.data(), words.data() + words.size());
    // Capitals rise about seven tenths of the size, tails hang a fifth below.
    note_drawn(words, {origin_.x + x, origin_.y + baseline.y - 0.72 * size, width, 0.92 * size});
}

void ImguiPainter::vertical_text(Point baseline, std::string_view words, double size, Colour ink, Align align) {
    // Drawn flat, then its corners are turned a quarter to the left about the baseline point. Flat it may reach beyond
    // the clip, where letters would be dropped before they are turned: they are laid out as if there were none. What is
    // drawn in the end is clipped as everything else.
    std::vector<DrawnText>* const noted = std::exchange(drawn_, nullptr);
    const ImVec4 clip = list_._CmdHeader.ClipRect;
    list_._CmdHeader.ClipRect = {-1e6F, -1e6F, 1e6F, 1e6F};
    const int first = list_.VtxBuffer.Size;
    text(baseline, words, size, ink, align, Weight::regular);
    list_._CmdHeader.ClipRect = clip;
    const ImVec2 pivot = at(origin_, baseline);
    for (int i = first; i < list_.VtxBuffer.Size; ++i) {
        ImVec2& corner = list_.VtxBuffer[i].pos;
        const float dx = corner.x - pivot.x, dy = corner.y - pivot.y;
        corner = ImVec2(pivot.x + dy, pivot.y - dx);
    }
    drawn_ = noted;
    const double width = text_width(words, size, Weight::regular);
    const double above = align == Align::left ? width : align == Align::centre ? width / 2.0 : 0.0;
    note_drawn(words, {origin_.x + baseline.x - 0.72 * size, origin_.y + baseline.y - above, 0.92 * size, width});
}

double ImguiPainter::text_width(std::string_view words, double size, Weight weight) const {
    pause();
    return static_cast<double>(fonts_.face(size, weight)
                                   ->CalcTextSizeA(pixels(size), 1e9F, 0.0F, words.data(), words.data() + words.size())
                                   .x);
}

void ImguiPainter::push_clip(const Rect& area) {
    list_.PushClipRect(at(origin_, {area.x, area.y}), at(origin_, {area.x + area.width, area.y + area.height}), true);
}

void ImguiPainter::pop_clip() {
    list_.PopClipRect();
}

}  // namespace app::window
