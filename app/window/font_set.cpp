#include "app/window/font_set.h"

#include <cmath>

#include <imgui.h>
#include <imgui_freetype.h>

#include "app/drawing/fonts.h"

namespace app::window {

namespace {

// Latin with its extensions, Greek, Cyrillic, and the signs that the program writes. Kept: the atlas holds the pointer.
constexpr ImWchar baked_letters[] = {0x0020, 0x024F, 0x0370, 0x03FF, 0x0400, 0x052F, 0x2010, 0x205E, 0x2070, 0x209F,
                                     0x2190, 0x21FF, 0x2200, 0x22FF, 0x25A0, 0x25FF, 0x2713, 0x2718, 0};

// Of what is read from two metres: the letters of names and states, without the many signs.
constexpr ImWchar large_letters[] = {0x0020, 0x017F, 0x0370, 0x03FF, 0x0400, 0x045F, 0x2010, 0x2026, 0};
constexpr double large_face = 3.4;

ImFont* add_face(const drawing::FontFile& file, double size_px, const ImWchar* of_letters = baked_letters) {
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
    double last = 0.0;
    for (const double factor : {0.78, 0.88, 1.0, 1.15, 1.35, 1.7, 2.2}) {
        const double size = std::round(text_px_ * factor);
        if (size == last) continue;
        last = size;
        baked_.push_back({size, add_face(family.regular, size), add_face(family.bold, size)});
    }
    const double large = std::round(text_px_ * large_face);
    ImFont* bold = add_face(family.bold, large, large_letters);
    baked_.push_back({large, bold, bold});
    ImGui::GetIO().FontDefault = running();
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
