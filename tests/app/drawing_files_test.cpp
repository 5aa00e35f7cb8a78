#include <filesystem>
#include <fstream>
#include <iterator>

#include <catch2/catch.hpp>
#include <unistd.h>

#include "app/drawing/cairo_painter.h"
#include "app/drawing/svg_painter.h"
#include "models/error.h"
#include "tests/app/drawing_samples.h"

using namespace app::drawing;

namespace {

const Colour paper{255, 255, 255};

std::vector<std::pair<std::string, Drawing>> drawings(double width, double height) {
    const Rect area{0.0, 0.0, width, height};
    const Look look = look_for(width, height);
    return {{"map", [=](Painter& p) { draw_map_figure(p, area, samples::district_map(), look); }},
            {"mapped", [=](Painter& p) { draw_map_figure(p, area, samples::mapped_within(), look); }},
            {"hours", [=](Painter& p) { draw_hours_figure(p, area, samples::hours(), look); }},
            {"bins", [=](Painter& p) { draw_bins_figure(p, area, samples::bins(), look); }},
            {"ranks", [=](Painter& p) { draw_rank_figure(p, area, samples::ranks(), look); }}};
}

/// Tags that open and close in order, attributes in quotes, no bare ampersand: what a reader of XML asks for.
std::string xml_fault(const std::string& xml) {
    std::vector<std::string> open;
    for (std::size_t at = 0; at < xml.size(); ++at) {
        if (xml[at] == '&') {
            const std::size_t end = xml.find(';', at);
            const std::string entity = xml.substr(at, end - at + 1);
            if (entity != "&amp;" && entity != "&lt;" && entity != "&gt;" && entity != "&quot;" && entity != "&#39;")
                return "entity " + entity;
        }
        if (xml[at] != '<') continue;
        const std::size_t end = xml.find('>', at);
        if (end == std::string::npos) return "open bracket";
        const std::string tag = xml.substr(at + 1, end - at - 1);
        if (std::count(tag.begin(), tag.end(), '"') % 2 != 0 || tag.find('<') != std::string::npos)
            return "attribute in " + tag.substr(0, 60);
        const std::string name = tag.substr(0, tag.find_first_of(" /"));
        if (tag[0] == '/') {
            if (open.empty() || open.back() != tag.substr(1)) return "closed " + tag;
            open.pop_back();
        } else if (tag.back() != '/') {
            open.push_back(name);
        }
        at = end;
    }
    return open.empty() ? "" : "left open: " + open.back();
}

std::uint32_t number_at(const std::string& bytes, std::size_t at) {
    std::uint32_t number = 0;
    for (std::size_t i = 0; i < 4; ++i) number = number << 8 | static_cast<unsigned char>(bytes[at + i]);
    return number;
}

}  // namespace

TEST_CASE("a PNG has the asked size and the same drawing gives the same bytes") {
    for (const auto& [name, draw] : drawings(800, 600)) {
        INFO(name);
        const std::string first = png_bytes(800, 600, paper, draw);
        CHECK(first.substr(0, 8) == "\x89PNG\r\n\x1a\n");  // PNG specification, section 5.2
        CHECK(number_at(first, 16) == 800);
        CHECK(number_at(first, 20) == 600);
        CHECK(first == png_bytes(800, 600, paper, draw));
    }
}

TEST_CASE("a picture of no size or of an absurd one is refused") {
    const Drawing nothing = [](Painter&) {};
    CHECK_THROWS_WITH(png_bytes(0, 600, paper, nothing), Catch::Contains("0 x 600 pixels cannot be made"));
    CHECK_THROWS_WITH(png_bytes(32000, 32000, paper, nothing), Catch::Contains("cannot be made"));
    CHECK_THROWS_WITH(pdf_bytes({}, "none"), Catch::Contains("without pages"));
}

TEST_CASE("a PDF embeds its fonts, keeps its text searchable and carries no clock") {
    std::vector<PdfPage> pages;
    for (const auto& [name, draw] : drawings(842, 595)) pages.push_back({842.0, 595.0, draw});
    const std::string first = pdf_bytes(pages, "Season 2026");
    CHECK(first.substr(0, 5) == "%PDF-");
    CHECK(first.find("/ToUnicode") != std::string::npos);
    CHECK(first.find("/FontFile") != std::string::npos);
    CHECK(first.find("/Count 5") != std::string::npos);
    CHECK(first.find("/CreationDate (20000101000000Z)") != std::string::npos);
    CHECK(first == pdf_bytes(pages, "Season 2026"));
}

TEST_CASE("an SVG is well-formed, has real text and comes out the same twice") {
    for (const auto& [name, draw] : drawings(1000, 700)) {
        INFO(name);
        const std::string svg = svg_text(1000, 700, paper, "Figure of " + name, "Drawn & \"described\" <here>", draw);
        CHECK(xml_fault(svg) == "");
        CHECK(svg.find("<title id=\"figure-title\">Figure of " + name + "</title>") != std::string::npos);
        CHECK(svg.find("Drawn &amp; &quot;described&quot; &lt;here&gt;") != std::string::npos);
        CHECK(svg.find("</text>") != std::string::npos);
        CHECK(svg == svg_text(1000, 700, paper, "Figure of " + name, "Drawn & \"described\" <here>", draw));
    }
    const std::string map = svg_text(1000, 700, paper, "Map", "", drawings(1000, 700)[1].second, "district");
    CHECK(map.find(">limit 1.25</text>") != std::string::npos);
    CHECK(map.find("href=\"data:image/png;base64,iVBORw0KGgo") != std::string::npos);
    CHECK(map.find("id=\"district-clip-1\"") != std::string::npos);
}

TEST_CASE("words that would break a page are escaped, broken bytes replaced") {
    const std::string svg = svg_text(100, 100, paper, "t", "d", [](Painter& p) {
        p.text({1, 1}, "<script>&\x01\xFF", 10, {}, Align::left, Weight::regular);
    });
    CHECK(svg.find(">&lt;script&gt;&amp; \uFFFD</text>") != std::string::npos);
    CHECK(xml_fault(svg) == "");
}

TEST_CASE("a picture is written whole or not at all") {
    const auto folder = std::filesystem::temp_directory_path() / ("lodicule-pictures-" + std::to_string(getpid()));
    std::filesystem::create_directories(folder);
    const Drawing square = [](Painter& p) { p.rect({2, 2, 4, 4}, {9, 9, 9}); };
    const std::string path = (folder / "square.png").string();
    write_png(path, 8, 8, paper, square);
    std::ifstream in(path, std::ios::binary);
    CHECK(std::string(std::istreambuf_iterator<char>(in), {}) == png_bytes(8, 8, paper, square));
    CHECK_THROWS_WITH(write_png((folder / "absent" / "square.png").string(), 8, 8, paper, square),
                      Catch::Contains("cannot be written"));
    CHECK_THROWS(write_png(path, 8, 8, paper, [](Painter&) { throw models::Error("stopped"); }));
    int files = 0;
    for ([[maybe_unused]] const auto& entry : std::filesystem::directory_iterator(folder)) ++files;
    CHECK(files == 1);
    std::filesystem::remove_all(folder);
}

TEST_CASE("an image keeps its transparency in a file of its own") {
    const Image image{2, 1, {0x800000FFu, 0x00000000u}};
    CHECK(png_of(image) == png_of(image));
    CHECK(number_at(png_of(image), 16) == 2);
    CHECK(png_of(image)[25] == 6);  // colour type: truecolour with alpha, PNG specification, section 11.2.2
}
