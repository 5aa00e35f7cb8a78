#include "app/drawing/svg_painter.h"

#include <iterator>

#include <fmt/format.h>

#include "app/drawing/fonts.h"

namespace app::drawing {

namespace {

std::string number(double value) {
    std::string text = fmt::format("{:.2f}", value);
    text.erase(text.find_last_not_of('0') + 1);
    if (text.back() == '.') text.pop_back();
    return text == "-0" ? "0" : text;
}

/// Text as XML wants it: the five special signs escaped, control signs and what is not UTF-8 replaced.
std::string escaped(std::string_view words) {
    std::string out;
    const SetLine letters = set_line(words, Weight::regular);
    std::size_t at = 0;
    for (const auto& glyph : letters.glyphs) {
        const std::string_view letter = words.substr(at, static_cast<std::size_t>(glyph.byte_count));
        at += letter.size();
        const auto first = static_cast<unsigned char>(letter[0]);
        if (letter == "&")
            out += "&amp;";
        else if (letter == "<")
            out += "&lt;";
        else if (letter == ">")
            out += "&gt;";
        else if (letter == "\"")
            out += "&quot;";
        else if (letter == "'")
            out += "&#39;";
        else if (first < 0x20)
            out += ' ';
        else if ((first >= 0x80 && letter.size() == 1) || letter == "\uFFFE" || letter == "\uFFFF")
            out += "\uFFFD";
        else
            out += letter;
    }
    return out;
}

/// RFC 4648.
std::string base64(const std::string& bytes) {
    constexpr std::string_view letters = "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/";
    std::string out;
    for (std::size_t i = 0; i < bytes.size(); i += 3) {
        const auto byte = [&](std::size_t k) -> unsigned {
            return k < bytes.size() ? static_cast<unsigned char>(bytes[k]) : 0u;
        };
        const unsigned group = byte(i) << 16 | byte(i + 1) << 8 | byte(i + 2);
        for (int k = 0; k < 4; ++k)
            out += i + static_cast<std::size_t>(k) > bytes.size() ? '=' : letters[group >> (18 - 6 * k) & 63u];
    }
    return out;
}

class SvgPainter final : public Painter {
 public:
    SvgPainter(std::string unique, std::string& body) : unique_(std::move(unique)), body_(body) {}

    void rect(const Rect& area, Colour fill) override { write("<rect {} {}/>\n", box(area), paint("fill", fill)); }
    void outline(const Rect& area, Colour line, double width) override {
        write("<rect {} fill=\"none\" {}/>\n", box(area), pen(line, width));
    }
    void polyline(const std::vector<Point>& points, Colour line, double width, bool closed, bool dashed) override {
        if (points.size() < 2) return;
        const std::string dashes =
            dashed ? fmt::format(" stroke-dasharray=\"{} {}\"", number(4.0 * width), number(3.0 * width)) : "";
        write("<path d=\"{}\" fill=\"none\" {}{}/>\n", path(points, closed), pen(line, width), dashes);
    }
    void polygon(const std::vector<std::vector<Point>>& rings, Colour fill) override {
        std::string d;
        for (const auto& ring : rings)
            if (ring.size() > 2) d += path(ring, true);
        if (!d.empty()) write("<path d=\"{}\" fill-rule=\"evenodd\" {}/>\n", d, paint("fill", fill));
    }
    void disc(Point centre, double radius, Colour fill) override {
        write("<circle cx=\"{}\" cy=\"{}\" r=\"{}\" {}/>\n", number(centre.x), number(centre.y), number(radius),
              paint("fill", fill));
    }
    void circle(Point centre, double radius, Colour line, double width) override {
        write("<circle cx=\"{}\" cy=\"{}\" r=\"{}\" fill=\"none\" {}/>\n", number(centre.x), number(centre.y),
              number(radius), pen(line, width));
    }
    void image(const Image& picture, const Rect& area) override {
        if (picture.width <= 0 || picture.height <= 0) return;
        write("<image {} preserveAspectRatio=\"none\" href=\"data:image/png;base64,{}\"/>\n", box(area),
              base64(png_of(picture)));
    }
    void text(Point baseline, std::string_view words, double size, Colour ink, Align align, Weight weight) override {
        write("<text x=\"{}\" y=\"{}\" font-size=\"{}\"{}{} {}>{}</text>\n", number(baseline.x), number(baseline.y),
              number(size), anchor(align), weight == Weight::bold ? " font-weight=\"600\"" : "", paint("fill", ink),
              escaped(words));
    }
    void vertical_text(Point baseline, std::string_view words, double size, Colour ink, Align align) override {
        write("<text transform=\"translate({} {}) rotate(-90)\" font-size=\"{}\"{} {}>{}</text>\n", number(baseline.x),
              number(baseline.y), number(size), anchor(align), paint("fill", ink), escaped(words));
    }
    double text_width(std::string_view words, double size, Weight weight) const override {
        return width_of(words, size, weight);
    }
    void push_clip(const Rect& area) override {
        const std::string name = fmt::format("{}-clip-{}", unique_, ++clips_);
        write("<clipPath id=\"{}\"><rect {}/></clipPath><g clip-path=\"url(#{})\">\n", name, box(area), name);
        ++open_;
    }
    void pop_clip() override {
        if (open_ == 0) return;
        write("</g>\n");
        --open_;
    }
    void close() {
        while (open_ > 0) pop_clip();
    }

 private:
    template <typename... Values>
    void write(fmt::format_string<Values...> pattern, Values&&... values) {
        fmt::format_to(std::back_inserter(body_), pattern, std::forward<Values>(values)...);
    }
    static std::string box(const Rect& area) {
        return fmt::format("x=\"{}\" y=\"{}\" width=\"{}\" height=\"{}\"", number(area.x), number(area.y),
                           number(area.width), number(area.height));
    }
    static std::string paint(std::string_view what, Colour c) {
        std::string text = fmt::format("{}=\"#{:02x}{:02x}{:02x}\"", what, c.red, c.green, c.blue);
        if (c.alpha < 255) text += fmt::format(" {}-opacity=\"{}\"", what, number(c.alpha / 255.0));
        return text;
    }
    static std::string pen(Colour line, double width) {
        return paint("stroke", line) + fmt::format(" stroke-width=\"{}\"", number(width));
    }
    static std::string anchor(Align align) {
        return align == Align::left ? "" : align == Align::centre ? " text-anchor=\"middle\"" : " text-anchor=\"end\"";
    }
    static std::string path(const std::vector<Point>& points, bool closed) {
        std::string d;
        for (const auto& point : points)
            fmt::format_to(std::back_inserter(d), "{}{} {}", d.empty() ? "M" : "L", number(point.x), number(point.y));
        return closed ? d + "Z" : d;
    }

    std::string unique_;
    std::string& body_;
    int clips_ = 0;
    int open_ = 0;
};

}  // namespace

std::string svg_text(double width, double height, Colour ground, const std::string& title,
                     const std::string& description, const Drawing& draw, const std::string& unique) {
    std::string body;
    SvgPainter painter(unique, body);
    painter.rect({0.0, 0.0, width, height}, ground);
    draw(painter);
    painter.close();
    return fmt::format(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 {0} {1}\" width=\"{0}\" height=\"{1}\" role=\"img\" "
        "aria-labelledby=\"{2}-title {2}-description\" font-family=\"{3}, Inter, DejaVu Sans, sans-serif\" "
        "stroke-linejoin=\"round\">\n<title id=\"{2}-title\">{4}</title>\n<desc id=\"{2}-description\">{5}</desc>\n"
        "{6}</svg>\n",
        number(width), number(height), unique, escaped(fonts().name), escaped(title), escaped(description), body);
}

}  // namespace app::drawing
