#include "app/window/font_set.h"

#include <algorithm>
#include <cmath>
#include <utility>

#include <imgui.h>
#include <imgui_freetype.h>

#include "app/drawing/fonts.h"

namespace app::window {

namespace {

constexpr ImWchar unknown_letter = 0xFFFD;

// What western and middle Europe writes, and the signs that the program writes.
constexpr ImWchar usual_letters[] = {0x0020, 0x017F, 0x0218, 0x021B, 0x2010, 0x2033, 0x20AC, 0x20AC, 0x2190,
                                     0x2193, 0x2212, 0x2212, 0x2248, 0x2248, 0x2264, 0x2265, 0};

// Latin with its extensions, Greek, Cyrillic, and the signs that the program writes. Kept: the atlas holds the pointer.
constexpr ImWchar all_letters[] = {0x0020, 0x024F, 0x0370, 0x03FF, 0x0400, 0x052F, 0x2010, 0x205E, 0x2070, 0x209F,
                                   0x2190, 0x21FF, 0x2200, 0x22FF, 0x25A0, 0x25FF, 0x2713, 0x2718, 0};

// Of what is read from two metres: the letters of names and states, without the many signs.
constexpr ImWchar large_letters[] = {0x0020, 0x017F, 0x0218, 0x021B, 0x0370, 0x03FF, 0x0400, 0x045F, 0x2010, 0x2026, 0};
constexpr ImWchar usual_large_letters[] = {0x0020, 0x017F, 0x0218, 0x021B, 0x2010, 0x2026, 0};
constexpr double large_face = 3.4;

ImFont* add_face(const drawing::FontFile& file, double size_px, const ImWchar* of_letters) {
    ImFontConfig config;
    config.FontDataOwnedByAtlas = false;
    config.FontNo = file.number;
    config.OversampleH = config.OversampleV = 1;
    config.PixelSnapH = true;
    // The atlas takes a pointer to bytes it does not change.
    auto* bytes = const_cast<unsigned char*>(file.bytes.data());
    return ImGui::GetIO().Fonts->AddFontFromMemoryTTF(bytes, static_cast<int>(file.bytes.size()),
                                                      static_cast<float>(size_px), &config, of_letters);
}

}  // namespace

void FontSet::bake(double text_px) {
    text_px_ = std::round(text_px);
    baked_.clear();
    ImFontAtlas& atlas = *ImGui::GetIO().Fonts;
    atlas.Clear();
    atlas.FontBuilderIO = ImGuiFreeType::GetBuilderForFreeType();
    const drawing::FontFamily& family = drawing::fonts();
    all_letters_ = all_letters_ || missing_;
    const ImWchar* letters = all_letters_ ? all_letters : usual_letters;
    double last = 0.0;
    for (const double factor : {0.78, 0.88, 1.0, 1.15, 1.35, 1.7, 2.2}) {
        const double size = std::round(text_px_ * factor);
        if (size == last) continue;
        last = size;
        baked_.push_back({size, add_face(family.regular, size, letters), add_face(family.bold, size, letters)});
    }
    const double large = std::round(text_px_ * large_face);
    ImFont* bold = add_face(family.bold, large, all_letters_ ? large_letters : usual_large_letters);
    baked_.push_back({large, bold, bold});
    // The face has no mark of its own for a letter that is missing.
    std::vector<int> marks;
    for (const Baked& baked : baked_) {
        const int width = static_cast<int>(std::ceil(0.5 * baked.size_px));
        const int height = static_cast<int>(std::ceil(0.7 * baked.size_px));
        const ImVec2 below{1.0F, static_cast<float>(std::round(0.22 * baked.size_px))};
        for (ImFont* font : {baked.regular, baked.bold})
            if (font == baked.regular || baked.bold != baked.regular)
                marks.push_back(atlas.AddCustomRectFontGlyph(font, unknown_letter, width, height,
                                                             static_cast<float>(width) + 2.0F, below));
    }
    ImGui::GetIO().FontDefault = running();
    bake_discs();
    draw_unknown_marks(marks);
}

void FontSet::draw_unknown_marks(const std::vector<int>& marks) {
    ImFontAtlas& atlas = *ImGui::GetIO().Fonts;
    unsigned char* pixels = nullptr;
    int width = 0, height = 0;
    atlas.GetTexDataAsAlpha8(&pixels, &width, &height);
    unknown_at_.clear();
    for (const int number : marks) {
        const ImFontAtlasCustomRect& place = *atlas.GetCustomRectByIndex(number);
        if (pixels == nullptr || !place.IsPacked()) continue;
        for (int y = 0; y < place.Height; ++y)
            for (int x = 0; x < place.Width; ++x) {
                const bool edge = x == 0 || y == 0 || x == place.Width - 1 || y == place.Height - 1;
                pixels[(place.Y + y) * width + place.X + x] = edge ? 255 : 0;
            }
        const ImFontGlyph* mark = place.Font->FindGlyphNoFallback(unknown_letter);
        if (mark != nullptr) unknown_at_.emplace_back(mark->U0, mark->V0);
    }
}

void FontSet::look_for_missing(const ImDrawList& drawn) {
    if (all_letters_ || missing_) return;
    for (const ImDrawVert& corner : drawn.VtxBuffer)
        if (std::find(unknown_at_.begin(), unknown_at_.end(), std::pair{corner.uv.x, corner.uv.y}) !=
            unknown_at_.end()) {
            missing_ = true;
            return;
        }
}

void FontSet::look_for_missing(const ImDrawData& drawn) {
    for (int i = 0; i < drawn.CmdListsCount; ++i) look_for_missing(*drawn.CmdLists[i]);
}

void FontSet::bake_discs() {
    ImFontAtlas& atlas = *ImGui::GetIO().Fonts;
    discs_.clear();
    std::vector<std::pair<double, int>> places;
    for (const double radius : {1.0, 1.5, 2.0, 2.5, 3.0, 3.5, 4.0, 5.0, 6.0, 7.0, 8.0, 10.0}) {
        const int side = 2 * static_cast<int>(std::ceil(radius)) + 4;
        places.emplace_back(radius, atlas.AddCustomRectRegular(side, side));
    }
    unsigned char* pixels = nullptr;
    int width = 0, height = 0;
    atlas.GetTexDataAsAlpha8(&pixels, &width, &height);
    for (const auto& [radius, number] : places) {
        const ImFontAtlasCustomRect& place = *atlas.GetCustomRectByIndex(number);
        if (pixels == nullptr || !place.IsPacked()) continue;
        const double middle = 0.5 * place.Width;
        for (int y = 0; y < place.Height; ++y)
            for (int x = 0; x < place.Width; ++x) {
                const double covered =
                    std::clamp(radius + 0.5 - std::hypot(x + 0.5 - middle, y + 0.5 - middle), 0.0, 1.0);
                pixels[(place.Y + y) * width + place.X + x] = static_cast<unsigned char>(std::lround(255.0 * covered));
            }
        const double reach = radius + 1.0;
        const auto share = [](double at, int of) { return static_cast<float>(at / of); };
        discs_.push_back({radius, reach, share(place.X + middle - reach, width),
                          share(place.Y + middle - reach, height), share(place.X + middle + reach, width),
                          share(place.Y + middle + reach, height)});
    }
}

const FontSet::Disc* FontSet::disc(double radius) const {
    const Disc* best = nullptr;
    for (const Disc& one : discs_)
        if (best == nullptr || std::abs(one.radius - radius) < std::abs(best->radius - radius)) best = &one;
    if (best == nullptr || !(radius > 0.4) || radius > 1.15 * discs_.back().radius) return nullptr;
    return best;
}

ImFont* FontSet::face(double size_px, drawing::Weight weight) const {
    const Baked* best = &baked_.front();
    for (const Baked& baked : baked_) {
        if (std::abs(baked.size_px - size_px) < std::abs(best->size_px - size_px)) best = &baked;
    }
    return weight == drawing::Weight::bold ? best->bold : best->regular;
}

ImFont* FontSet::running() const {
    return face(text_px_, drawing::Weight::regular);
}

}  // namespace app::window
