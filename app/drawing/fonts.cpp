#include "app/drawing/fonts.h"

#include <fontconfig/fontconfig.h>
#include <ft2build.h>
#include FT_FREETYPE_H

#include <array>
#include <cstdint>
#include <cstdlib>
#include <filesystem>
#include <fstream>
#include <iterator>
#include <memory>
#include <mutex>
#include <optional>
#include <unordered_map>

#include "models/error.h"

namespace app::drawing {

namespace {

/// What every sentence of the program needs from its font.
constexpr std::u32string_view needed_letters = U"0123456789.,:()%/+AZazÄÖÜäöüßµ²°–−→≤≥…×„“”";

struct FaceCloser {
    void operator()(FT_Face face) const { FT_Done_Face(face); }
};
struct LibraryCloser {
    void operator()(FT_Library library) const { FT_Done_FreeType(library); }
};
using Face = std::unique_ptr<FT_FaceRec_, FaceCloser>;
using Library = std::unique_ptr<FT_LibraryRec_, LibraryCloser>;

Library open_library() {
    FT_Library library = nullptr;
    if (FT_Init_FreeType(&library) != 0) throw models::Error("FreeType does not start");
    return Library(library);
}

Face open_face(const Library& library, const FontFile& file) {
    FT_Face face = nullptr;
    if (file.bytes.empty() || FT_New_Memory_Face(library.get(), file.bytes.data(),
                                                 static_cast<FT_Long>(file.bytes.size()), file.number, &face) != 0)
        return nullptr;
    return Face(face);
}

std::optional<FontFile> usable_file(const std::string& path, int number, std::string& family) {
    std::error_code failed;
    if (!std::filesystem::is_regular_file(path, failed)) return std::nullopt;
    std::ifstream in(path, std::ios::binary);
    FontFile file{path, {std::istreambuf_iterator<char>(in), std::istreambuf_iterator<char>()}, number};
    const Library library = open_library();
    const Face face = open_face(library, file);
    if (!face || !FT_IS_SCALABLE(face.get())) return std::nullopt;
    for (const char32_t letter : needed_letters)
        if (FT_Get_Char_Index(face.get(), letter) == 0) return std::nullopt;
    family = face->family_name ? face->family_name : "unnamed";
    return file;
}

std::optional<FontFamily> family_of(const std::string& regular, int regular_number,
                                    const std::vector<std::pair<std::string, int>>& bolds) {
    FontFamily family;
    std::string bold_name;
    auto file = usable_file(regular, regular_number, family.name);
    if (!file) return std::nullopt;
    family.regular = std::move(*file);
    for (const auto& [path, number] : bolds) {
        if (auto bold = usable_file(path, number, bold_name)) {
            family.bold = std::move(*bold);
            return family;
        }
    }
    family.bold = family.regular;
    return family;
}

std::optional<FontFamily> family_in(const std::string& inter_folder, const std::string& dejavu_folder) {
    for (const char* ending : {".otf", ".ttf"}) {
        const std::string stem = inter_folder + "/Inter-";
        if (auto found =
                family_of(stem + "Regular" + ending, 0, {{stem + "SemiBold" + ending, 0}, {stem + "Bold" + ending, 0}}))
            return found;
    }
    return family_of(dejavu_folder + "/DejaVuSans.ttf", 0, {{dejavu_folder + "/DejaVuSans-Bold.ttf", 0}});
}

std::pair<std::string, int> fontconfig_choice(FcConfig* config, int weight) {
    std::pair<std::string, int> choice;
    FcPattern* wanted = FcPatternCreate();
    FcPatternAddString(wanted, FC_FAMILY, reinterpret_cast<const FcChar8*>("sans-serif"));
    FcPatternAddInteger(wanted, FC_WEIGHT, weight);
    FcPatternAddInteger(wanted, FC_SLANT, FC_SLANT_ROMAN);
    FcPatternAddBool(wanted, FC_SCALABLE, FcTrue);
    FcConfigSubstitute(config, wanted, FcMatchPattern);
    FcDefaultSubstitute(wanted);
    FcResult result = FcResultNoMatch;
    if (FcPattern* found = FcFontMatch(config, wanted, &result)) {
        FcChar8* path = nullptr;
        if (FcPatternGetString(found, FC_FILE, 0, &path) == FcResultMatch) choice.first = reinterpret_cast<char*>(path);
        FcPatternGetInteger(found, FC_INDEX, 0, &choice.second);
        FcPatternDestroy(found);
    }
    FcPatternDestroy(wanted);
    return choice;
}

/// The next code point of UTF-8 text; U+FFFD, one byte long, where the bytes are none (RFC 3629).
char32_t next_letter(std::string_view words, std::size_t at, int& bytes) {
    const auto byte = [&](std::size_t i) { return static_cast<unsigned char>(words[i]); };
    const unsigned char first = byte(at);
    bytes = first < 0x80 ? 1 : first < 0xC2 ? 0 : first < 0xE0 ? 2 : first < 0xF0 ? 3 : first < 0xF5 ? 4 : 0;
    if (bytes == 1) return first;
    char32_t letter = bytes == 2 ? first & 0x1F : bytes == 3 ? first & 0x0F : first & 0x07;
    bool sound = bytes > 1 && at + static_cast<std::size_t>(bytes) <= words.size();
    for (int i = 1; sound && i < bytes; ++i) {
        const unsigned char next = byte(at + static_cast<std::size_t>(i));
        sound = (next & 0xC0) == 0x80;
        letter = (letter << 6) | (next & 0x3F);
    }
    if (sound && ((bytes == 3 && letter < 0x800) || (bytes == 4 && (letter < 0x10000 || letter > 0x10FFFF)) ||
                  (letter >= 0xD800 && letter <= 0xDFFF)))
        sound = false;
    if (sound) return letter;
    bytes = 1;
    return 0xFFFD;
}

/// Glyphs and advances of one face, learnt once a letter; several threads may set text at a time.
class AdvanceTable {
 public:
    explicit AdvanceTable(const FontFile& file) : library_(open_library()), face_(open_face(library_, file)) {}

    SetLine set(std::string_view words) {
        const std::scoped_lock lock(mutex_);
        SetLine line;
        line.glyphs.reserve(words.size());
        int bytes = 1;
        for (std::size_t at = 0; at < words.size(); at += static_cast<std::size_t>(bytes)) {
            const Advance& advance = of(next_letter(words, at, bytes));
            line.glyphs.push_back({advance.glyph, line.width, bytes});
            line.width += advance.width;
        }
        return line;
    }

    double width(std::string_view words) {
        const std::scoped_lock lock(mutex_);
        double width = 0.0;
        int bytes = 1;
        for (std::size_t at = 0; at < words.size(); at += static_cast<std::size_t>(bytes))
            width += of(next_letter(words, at, bytes)).width;
        return width;
    }

 private:
    struct Advance {
        unsigned long glyph;
        double width;
    };

    const Advance& of(char32_t letter) {
        const auto known = advances_.find(letter);
        if (known != advances_.end()) return known->second;
        Advance advance{FT_Get_Char_Index(face_.get(), letter), 0.0};
        if (FT_Load_Glyph(face_.get(), static_cast<FT_UInt>(advance.glyph), FT_LOAD_NO_SCALE) == 0)
            advance.width = static_cast<double>(face_->glyph->metrics.horiAdvance) / face_->units_per_EM;
        return advances_.emplace(letter, advance).first->second;
    }

    Library library_;
    Face face_;
    std::mutex mutex_;
    std::unordered_map<char32_t, Advance> advances_;
};

AdvanceTable& advances(Weight weight) {
    static AdvanceTable regular(fonts().regular), bold(fonts().bold);
    return weight == Weight::bold ? bold : regular;
}

}  // namespace

FontFamily find_fonts() {
    if (const char* own = std::getenv("LODICULE_FONT_DIR"); own && *own)
        if (auto found = family_in(own, own)) return *found;
    if (auto found = family_in("/usr/share/fonts/opentype/inter", "/usr/share/fonts/truetype/dejavu")) return *found;
    if (FcConfig* config = FcInitLoadConfigAndFonts()) {
        const auto [regular, number] = fontconfig_choice(config, FC_WEIGHT_REGULAR);
        const auto bold = fontconfig_choice(config, FC_WEIGHT_BOLD);
        FcConfigDestroy(config);
        if (auto found = family_of(regular, number, {bold})) return *found;
    }
    throw models::Error("no font was found to write with", "",
                        "install the package fonts-inter or fonts-dejavu-core, or set LODICULE_FONT_DIR to a folder "
                        "that holds Inter-Regular.otf or DejaVuSans.ttf");
}

const FontFamily& fonts() {
    static const FontFamily family = find_fonts();
    return family;
}

SetLine set_line(std::string_view words, Weight weight) {
    return advances(weight).set(words);
}

double width_of(std::string_view words, double size, Weight weight) {
    return advances(weight).width(words) * size;
}

}  // namespace app::drawing
