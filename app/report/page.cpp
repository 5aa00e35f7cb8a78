#include "app/report/page.h"

#include <cassert>

#include <fmt/format.h>

#include "app/drawing/palette.h"

namespace app::report {

namespace {

std::string css_colour(drawing::Colour colour) {
    return fmt::format("#{:02x}{:02x}{:02x}", colour.red, colour.green, colour.blue);
}

/// On screen, on a telephone and on paper. One accent colour; states differ by frame and weight, never by colour.
constexpr std::string_view style = R"css(
*{box-sizing:border-box}
html{color-scheme:light;-webkit-text-size-adjust:100%}
body{margin:0;background:var(--paper);color:var(--ink);font:16px/1.5 Inter,"Segoe UI",Roboto,"Helvetica Neue",Arial,"DejaVu Sans",sans-serif;font-variant-numeric:tabular-nums}
main{max-width:74rem;margin:0 auto;padding:2.5rem 1.5rem 4rem}
h1,h2{font-family:Charter,"Bitstream Charter","Iowan Old Style",Georgia,"DejaVu Serif",serif;font-weight:600;line-height:1.2;text-wrap:balance}
h1{font-size:2.1rem;margin:0 0 .6rem}
h2{font-size:1.4rem;margin:3rem 0 .6rem;padding-top:.9rem;border-top:1px solid var(--line)}
p,ul,dl{max-width:46rem;margin:.5rem 0}
ul{padding-left:1.2rem}
li{margin:.25rem 0}
a{color:var(--accent)}
.over-title{margin:0 0 .3rem;color:var(--soft-ink);font-size:.95rem}
.lead{font-size:1.1rem}
.caution{border-left:4px solid var(--accent);background:var(--panel);padding:.6rem .9rem;margin:1rem 0;max-width:46rem}
.beside{color:var(--soft-ink);font-size:.92rem}
dl{display:grid;grid-template-columns:max-content 1fr;gap:.15rem 1.2rem}
dt{color:var(--soft-ink)}
dd{margin:0;overflow-wrap:anywhere}
nav ul{list-style:none;padding:0;display:flex;flex-wrap:wrap;gap:.2rem 1.2rem}
.counts{display:grid;grid-template-columns:repeat(auto-fit,minmax(10rem,1fr));gap:0 1.5rem;padding:0;margin:1.2rem 0;max-width:none;list-style:none}
.counts li{border-top:2px solid var(--ink);padding-top:.35rem;margin:0 0 1rem}
.counts b{display:block;font-size:1.6rem;line-height:1.2;font-weight:600}
.counts span{display:block;color:var(--soft-ink);font-size:.9rem}
.table{overflow-x:auto;margin:1rem 0 .4rem}
.table:focus-visible{outline:2px solid var(--accent);outline-offset:2px}
table{border-collapse:collapse;width:100%;font-size:.9rem;line-height:1.35}
caption{text-align:left;color:var(--soft-ink);padding:0 0 .5rem}
caption span{display:block;max-width:min(46rem,calc(100vw - 2rem))}
th,td{text-align:left;vertical-align:top;padding:.42rem .7rem .42rem 0;border-bottom:1px solid var(--line)}
thead th{vertical-align:bottom;border-bottom:2px solid var(--ink);font-weight:600}
tbody th{font-weight:600;background:var(--paper);min-width:4.5rem}
tbody th.name{min-width:9.5rem}
td.of{min-width:7.5rem}
th.right,td.right{text-align:right;padding-right:1.1rem}
td.right{white-space:nowrap}
th small,td small{display:block;font-weight:400;color:var(--soft-ink);font-size:.86em}
td.strip,th.strip{width:9.5rem;min-width:9.5rem}
td.strip svg{display:block}
td.words{min-width:14rem}
td.keep,th.keep,.keep small{white-space:nowrap}
td.flowering{min-width:6.4rem}
.state{display:inline-block;padding:0 .4rem;border:1.5px solid var(--ink);border-radius:2px;white-space:nowrap}
.state.over{background:var(--ink);color:var(--paper)}
.state.undecided{border-style:dashed}
figure{margin:1.5rem 0;break-inside:avoid}
figure svg,figure img{display:block;max-width:100%;height:auto;border:1px solid var(--line)}
figcaption{max-width:46rem;margin-top:.5rem;color:var(--soft-ink);font-size:.92rem}
figcaption b{color:var(--ink)}
code{font-family:"DejaVu Sans Mono",Menlo,Consolas,monospace;font-size:.92em;overflow-wrap:anywhere}
.hash{display:inline-block;padding:.3rem .5rem;background:var(--panel);border:1px solid var(--line)}
@media (max-width:40rem){
main{padding:1.2rem 1rem 3rem}
h1{font-size:1.6rem}
dl{grid-template-columns:1fr;gap:0}
dd{margin-bottom:.4rem}
tbody th,thead th:first-child{position:sticky;left:0;background:var(--paper);padding-right:.8rem;box-shadow:1px 0 0 var(--line)}
}
@page{size:A4;margin:16mm 14mm 18mm}
@media print{
html{font-size:10pt}
body{font-size:9.5pt}
main{max-width:none;padding:0}
nav{display:none}
.table{overflow:visible}
table{font-size:7.6pt}
th,td{padding:.25rem .5rem .25rem 0}
thead{display:table-header-group}
tr,li,.caution,.counts{break-inside:avoid}
thead{break-after:avoid}
tbody tr:first-child{break-before:avoid}
tbody th.name{min-width:7rem}
h2{break-after:avoid}
td.strip,th.strip{width:6.5rem;min-width:6.5rem}
td.strip svg{width:6.2rem;height:auto}
td.words{min-width:7rem}
caption{break-after:avoid;break-inside:avoid}
caption span{orphans:4;widows:4}
.caution,.state.over,.hash{print-color-adjust:exact;-webkit-print-color-adjust:exact}
a{color:inherit;text-decoration:none}
}
)css";

}  // namespace

std::string escaped(std::string_view text) {
    std::string out;
    out.reserve(text.size());
    for (const char c : text) {
        switch (c) {
            case '&':
                out += "&amp;";
                break;
            case '<':
                out += "&lt;";
                break;
            case '>':
                out += "&gt;";
                break;
            case '"':
                out += "&quot;";
                break;
            case '\'':
                out += "&#39;";
                break;
            default:
                out += c;
        }
    }
    return out;
}

std::string base64(std::string_view bytes) {
    constexpr std::string_view letters = "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/";
    std::string out;
    out.reserve((bytes.size() + 2) / 3 * 4);
    for (std::size_t i = 0; i < bytes.size(); i += 3) {
        unsigned group = 0;
        for (std::size_t k = 0; k < 3; ++k) {
            group = group << 8 | (i + k < bytes.size() ? static_cast<unsigned char>(bytes[i + k]) : 0U);
        }
        for (std::size_t k = 0; k < 4; ++k) {
            out += i + k > bytes.size() ? '=' : letters[group >> (18 - 6 * k) & 63U];
        }
    }
    return out;
}

void PageTable::row(const std::vector<std::string>& cells) {
    assert(cells.size() == columns_.size());
    rows_ += "<tr>";
    for (std::size_t i = 0; i < cells.size(); ++i) {
        std::string css = columns_[i].css;
        if (columns_[i].right) css += css.empty() ? "right" : " right";
        const std::string attributes = css.empty() ? "" : fmt::format(" class=\"{}\"", css);
        rows_ += i == 0 ? fmt::format("<th scope=\"row\"{}>{}</th>", attributes, cells[i])
                        : fmt::format("<td{}>{}</td>", attributes, cells[i]);
    }
    rows_ += "</tr>\n";
}

std::string PageTable::html(const std::string& id) const {
    // A wide table scrolls by itself and not the page; the region can be reached by the keyboard.
    std::string out = fmt::format(
        "<div class=\"table\" role=\"region\" aria-labelledby=\"{0}-caption\" tabindex=\"0\"><table>\n"
        "<caption id=\"{0}-caption\"><span>{1}</span></caption>\n<thead><tr>",
        id, escaped(caption_));
    for (const Column& column : columns_) {
        std::string css = column.css;
        if (column.right) css += css.empty() ? "right" : " right";
        out += fmt::format("<th scope=\"col\"{}>{}</th>", css.empty() ? "" : fmt::format(" class=\"{}\"", css),
                           column.heading);
    }
    return out + "</tr></thead>\n<tbody>\n" + rows_ + "</tbody></table></div>\n";
}

std::string page(const std::string& title, const std::string& body) {
    const drawing::Theme& theme = drawing::light_theme();
    const std::string colours =
        fmt::format(":root{{--paper:{};--panel:{};--ink:{};--soft-ink:{};--line:{};--accent:{}}}",
                    css_colour(theme.paper), css_colour(theme.panel), css_colour(theme.ink), css_colour(theme.soft_ink),
                    css_colour(theme.line), css_colour(theme.accent));
    return fmt::format(
        "<!DOCTYPE html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\">\n"
        "<meta name=\"viewport\" content=\"width=device-width, initial-scale=1\">\n"
        "<title>{}</title>\n<style>{}{}</style>\n</head>\n<body>\n<main>\n{}</main>\n</body>\n</html>\n",
        escaped(title), colours, style, body);
}

}  // namespace app::report
