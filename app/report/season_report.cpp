#include "app/report/season_report.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <fstream>
#include <numeric>

#include <fmt/format.h>

#include "app/cautions.h"
#include "app/drawing/numbers.h"
#include "app/drawing/palette.h"
#include "app/report/page.h"
#include "geo/whole_file.h"
#include "models/counted.h"
#include "models/error.h"
#include "models/words.h"

namespace app::report {

using drawing::interval_text;
using drawing::number_text;
using drawing::percent_text;
using drawing::tonnes_text;

namespace {

constexpr const char* nothing = "<span aria-label=\"not known\">–</span>";

std::string small(const std::string& text) {
    return text.empty() ? "" : "<small>" + escaped(text) + "</small>";
}
std::string paragraph(const std::string& text, const char* css = "") {
    return text.empty()
               ? ""
               : fmt::format("<p{}>{}</p>\n", *css == 0 ? "" : fmt::format(" class=\"{}\"", css), escaped(text));
}
std::string caution_box(const std::string& text) {
    return paragraph(text, "caution");
}
std::string heading(const char* id, const std::string& text) {
    return fmt::format("<h2 id=\"{}\">{}</h2>\n", id, escaped(text));
}

std::string estimate(const std::optional<double>& value) {
    return value ? escaped(number_text(*value)) : nothing;
}
std::string chance(const std::optional<double>& value) {
    return value ? escaped(percent_text(*value)) : nothing;
}
std::string interval(const std::optional<double>& low, const std::optional<double>& high) {
    return low && high ? escaped(interval_text(*low, *high)) : nothing;
}

/// As it was written down: the shortest digits that are this number.
std::string reading_text(const TestRow& test) {
    switch (test.reading) {
        case models::Reading::value:
            return fmt::format("{}", test.don_mg_per_kg);
        case models::Reading::below:
            return fmt::format("below {}", test.don_mg_per_kg);
        case models::Reading::above:
            return fmt::format("above {}", test.don_mg_per_kg);
        case models::Reading::invalid:
            return "void";
    }
    return "";
}

/// The day, and under it the time with its offset, as the stamp has them.
std::string time_html(const std::string& stamp) {
    const std::size_t t = stamp.find('T');
    if (t == std::string::npos) return escaped(stamp);
    std::string time = stamp.substr(t + 1);
    const std::size_t offset = time.find_first_of("+-");
    if (offset != std::string::npos) time.insert(offset, " ");
    return escaped(stamp.substr(0, t)) + small(time);
}

std::string state_html(const std::optional<models::ClearingState>& state) {
    if (!state) return nothing;
    const std::string word = models::in_words(*state);
    return fmt::format("<span class=\"state {0}\">{0}</span>", word);
}

/// "Chance over 1.25 mg/kg": of which limit a column speaks.
std::string over_words(const SeasonReport& report) {
    return report.limit_mg_per_kg
               ? fmt::format("Chance over {} mg/kg", drawing::set_number_text(*report.limit_mg_per_kg))
               : std::string("Chance over the limit");
}

// ---- sections ------------------------------------------------------------------------------------------------------

std::string opening(const SeasonReport& report) {
    std::string out = "<header>\n<p class=\"over-title\">Record of a wheat season: deoxynivalenol (DON)</p>\n";
    out += fmt::format("<h1>Season {}: what was tested, found and decided</h1>\n", report.season);
    out += "<dl>\n";
    const auto fact = [&](const char* name, const std::string& text) {
        if (!text.empty()) out += fmt::format("<dt>{}</dt><dd>{}</dd>\n", name, escaped(text));
    };
    fact("Limit", report.limit.empty() ? "none was asked about" : report.limit);
    fact("Source of the limit", report.limit_source);
    fact("Contents are given", models::in_words(report.basis));
    fact("Store", report.store);
    fact("Made by", report.program);
    out += "</dl>\n";
    if (!report.limit_confirmed) {
        out += caution_box(
            "The limit stands in the table from memory. Check it against its source before anything rests on it.");
    }
    out += caution_box(std::string(spoken(caution::screening)) + " " + spoken(caution::only_don));
    out += "<nav aria-label=\"Sections\"><ul>";
    const std::array<std::pair<const char*, const char*>, 7> sections{{{"short", "In short"},
                                                                       {"tested", "What was tested"},
                                                                       {"fields", "Fields"},
                                                                       {"grain", "Loads and bins"},
                                                                       {"method", "What this can say"},
                                                                       {"safety", "At work"},
                                                                       {"chain", "How to check this page"}}};
    for (const auto& [id, text] : sections) out += fmt::format("<li><a href=\"#{}\">{}</a></li>", id, text);
    return out + "</ul></nav>\n</header>\n";
}

std::string in_short(const SeasonReport& report) {
    std::string out = heading("short", "In short");
    out += "<ul class=\"counts\">\n";
    const auto count = [&](const std::string& number, const std::string& what, const std::string& more) {
        out += fmt::format("<li><b>{}</b>{}<span>{}</span></li>\n", escaped(number), escaped(what), escaped(more));
    };
    double area_ha = 0.0;
    long tested = 0, valid = 0, below = 0, above = 0, invalid = 0, over = 0;
    for (const FieldRow& field : report.fields) {
        area_ha += field.area_ha.value_or(0.0);
        tested += field.tests > 0;
    }
    for (const TestRow& test : report.tests) {
        if (test.corrected) continue;
        valid += test.reading != models::Reading::invalid;
        below += test.reading == models::Reading::below;
        above += test.reading == models::Reading::above;
        invalid += test.reading == models::Reading::invalid;
        over += test.over_limit.value_or(false);
    }
    const auto fields = static_cast<long>(report.fields.size());
    count(std::to_string(fields), fields == 1 ? "field or part" : "fields and parts",
          fmt::format("{:.0f} ha, {} with a result of its own", area_ha, tested));
    count(std::to_string(valid), valid == 1 ? "valid test" : "valid tests",
          fmt::format("{} below and {} above the range that can be read, {} void", below, above, invalid));
    if (!report.limit.empty()) {
        count(std::to_string(over), over == 1 ? "result over the limit" : "results over the limit",
              "by the limit's own rule");
    }
    if (!report.loads.empty()) {
        std::array<long, 3> states{};
        long waiting = 0;
        for (const LoadRow& load : report.loads) {
            if (!load.waits) continue;
            ++waiting;
            if (load.state) ++states[static_cast<std::size_t>(*load.state)];
        }
        const auto loads = static_cast<long>(report.loads.size());
        const long without = waiting - std::accumulate(states.begin(), states.end(), 0L);
        count(std::to_string(loads), loads == 1 ? "load" : "loads",
              fmt::format("{} in bins or gone, {} waiting: {} cleared, {} over, {} undecided{}", loads - waiting,
                          waiting, states[static_cast<std::size_t>(models::ClearingState::cleared)],
                          states[static_cast<std::size_t>(models::ClearingState::over)],
                          states[static_cast<std::size_t>(models::ClearingState::undecided)],
                          without > 0 ? fmt::format(", {} not in the plan", without) : ""));
    }
    out += "</ul>\n";
    if (report.ranking_only) {
        out += caution_box(
            "The store holds no DON result at all. Nothing on this page is a content or a chance of being over a "
            "limit; fields are only put in an order by disease risk.");
    }
    out += paragraph(report.structure, "lead");
    if (!report.what_next.empty()) {
        out += "<p><b>What is to be done next</b></p>\n<ul>\n";
        for (const std::string& sentence : report.what_next) out += "<li>" + escaped(sentence) + "</li>\n";
        out += "</ul>\n";
    }
    return out;
}

std::string figures(const SeasonReport& report) {
    std::string out;
    for (const Figure& figure : report.figures) {
        out += "<figure>\n";
        if (!figure.svg.empty()) {
            out += figure.svg;
        } else {
            out += fmt::format("<img src=\"data:image/png;base64,{}\" alt=\"{}\">", base64(figure.png),
                               escaped(figure.alt));
        }
        out += fmt::format(
            "\n<figcaption><b>{}</b> {}{}</figcaption>\n</figure>\n", escaped(figure.title), escaped(figure.note),
            figure.svg.empty() || figure.alt.empty() ? "" : (figure.note.empty() ? "" : " ") + escaped(figure.alt));
    }
    return out;
}

std::string what_was_tested(const SeasonReport& report) {
    std::string out = heading("tested", "What was tested and when");
    if (report.tests.empty()) return out + paragraph("No test was made this season.");
    PageTable table("Every test of the season by time, as it was written down; void ones and corrections included.",
                    {{"Test", false, "keep"},
                     {"Time", false, "keep"},
                     {"Of", false, "of"},
                     {"DON, mg/kg", true, ""},
                     {"By", false, "keep"},
                     {"Chosen because", false, ""},
                     {"To know about it", false, "words"}});
    for (const TestRow& test : report.tests) {
        std::string know = escaped(test.note);
        if (test.over_limit.value_or(false)) {
            const bool strip = test.method == models::Method::strip;
            know = std::string("<span class=\"state over\">over the limit</span> ") +
                   (strip ? "suspected: hold, confirm" : "by the laboratory") + (know.empty() ? "" : "; ") + know;
        }
        std::string reading = escaped(reading_text(test));
        if (test.standard_uncertainty_mg_per_kg && test.reading == models::Reading::value) {
            reading += small(fmt::format("standard uncertainty {}", *test.standard_uncertainty_mg_per_kg));
        }
        if (test.reading != models::Reading::invalid && test.basis != report.basis)
            reading += small(models::in_words(test.basis));
        table.row({escaped(test.test) + small("sample " + test.sample), time_html(test.time),
                   escaped(test.of) + small(models::in_words(test.stage)), reading,
                   (test.method == models::Method::strip ? "strip" : "laboratory") +
                       small(test.kit_lot.empty() ? "" : "kit lot " + test.kit_lot),
                   escaped(test.chosen_because), know});
    }
    out += table.html("tests");
    for (const std::string& sentence : report.controls_outside) out += caution_box(sentence);
    out += paragraph(
        "A result below or above the range that a test can read is a fact of its own and is used as such, never as a "
        "nought or as the end of the range. A sample that was taken because the grain looked bad speaks for that "
        "grain; what it says of the rest is weaker.",
        "beside");
    return out;
}

/// The interval of one field on a logarithmic scale beside its numbers: line 90 %, dot median, upright the limit.
std::string interval_strip(const FieldRow& field, const drawing::ContentScale& scale,
                           const std::optional<double>& limit) {
    if (!field.median_mg_per_kg || !field.low90_mg_per_kg || !field.high90_mg_per_kg) return "";
    constexpr double width = 150.0;
    const auto x = [&](double content) { return 4.0 + (width - 8.0) * scale.share(content); };
    std::string out =
        fmt::format("<svg width=\"{0:.0f}\" height=\"18\" viewBox=\"0 0 {0:.0f} 18\" aria-hidden=\"true\">", width);
    out += fmt::format("<path d=\"M4 9H{:.0f}\" stroke=\"var(--line)\"/>", width - 4.0);
    if (limit)
        out += fmt::format("<path d=\"M{:.1f} 1V17\" stroke=\"var(--accent)\" stroke-width=\"1.5\"/>", x(*limit));
    out += fmt::format("<path d=\"M{:.1f} 9H{:.1f}\" stroke=\"var(--ink)\" stroke-width=\"2.5\"/>",
                       x(*field.low90_mg_per_kg), x(*field.high90_mg_per_kg));
    out += fmt::format(
        "<circle cx=\"{:.1f}\" cy=\"9\" r=\"3.5\" fill=\"var(--paper)\" stroke=\"var(--ink)\" "
        "stroke-width=\"2\"/></svg>",
        x(*field.median_mg_per_kg));
    return out;
}

std::string risk_html(const FieldRow& field) {
    if (!field.risk) return nothing;
    const auto text = [&](double value) { return field.risk_is_index ? number_text(value) : percent_text(value); };
    std::string out = escaped(text(*field.risk));
    if (field.risk_low && field.risk_high && *field.risk_low != *field.risk_high) {
        out += small(text(*field.risk_low) + " to " + text(*field.risk_high));
    }
    return out;
}

std::string fields_section(const SeasonReport& report) {
    std::string out = heading("fields", "Fields");
    if (report.fields.empty()) return out + paragraph("The store has no crop records of this season.");
    std::vector<double> contents;
    for (const FieldRow& field : report.fields) {
        for (const auto& value : {field.low90_mg_per_kg, field.high90_mg_per_kg}) {
            if (value) contents.push_back(*value);
        }
    }
    const drawing::ContentScale scale = drawing::content_scale_for(contents, report.limit_mg_per_kg.value_or(0.0));
    const bool with_content = !report.ranking_only;
    std::vector<PageTable::Column> columns{
        {"Field", false, "name"}, {"Flowering", false, "flowering"}, {"Disease risk", true, ""}, {"Tests", true, ""}};
    if (with_content) {
        columns.push_back({"Median, mg/kg", true, ""});
        columns.push_back({"90 % interval", true, ""});
        columns.push_back({fmt::format("{} to {} mg/kg", scale.low_mg_per_kg, scale.high_mg_per_kg), false, "strip"});
        columns.push_back({over_words(report), true, ""});
    }
    columns.push_back({"To know about it", false, "words"});
    PageTable table(
        with_content
            ? "Each field's mean content of DON, which a well mixed delivery of it would hold, and the chance that "
              "this mean is over the limit."
            : "Each field's disease risk; no DON result is in the store.",
        columns);
    for (const FieldRow& field : report.fields) {
        std::string under = field.area_ha ? number_text(*field.area_ha) + " ha" : "";
        for (const std::string* more : {&field.cultivar, &field.grower}) {
            if (!more->empty()) under += (under.empty() ? "" : ", ") + *more;
        }
        std::vector<std::string> cells{escaped(field.name) + small(under), escaped(field.flowering), risk_html(field),
                                       std::to_string(field.tests)};
        if (with_content) {
            cells.push_back(estimate(field.median_mg_per_kg));
            cells.push_back(interval(field.low90_mg_per_kg, field.high90_mg_per_kg));
            cells.push_back(interval_strip(field, scale, report.limit_mg_per_kg));
            cells.push_back(chance(field.exceedance));
        }
        std::string know = field.note;
        if (!field.risk_note.empty()) know += (know.empty() ? "" : "; ") + field.risk_note;
        cells.push_back(escaped(know));
        table.row(cells);
    }
    out += table.html("field-table");
    if (with_content) {
        out += paragraph(
            std::string(
                "In the strip of each row the line is the 90 % interval and the ring the median, on a logarithmic "
                "scale") +
                (report.limit_mg_per_kg ? "; the upright line is the limit." : "."),
            "beside");
    }
    std::string risk =
        std::string(spoken(caution::risk_is_not_don)) + " " + spoken(caution::risk_is_no_advice_to_spray);
    risk += " The range under a risk leaves out the error of the model's coefficients.";
    if (!report.risk_model.empty()) {
        risk +=
            " Model: " + report.risk_model + (report.risk_source.empty() ? "" : " (" + report.risk_source + ")") + ".";
    }
    if (!report.risk_holds_for.empty()) risk += " It holds for " + report.risk_holds_for + ".";
    for (const std::string& sentence : report.extrapolated) risk += " " + sentence + ".";
    return out + caution_box(risk);
}

std::string grain_section(const SeasonReport& report) {
    std::string out = heading("grain", "Loads and bins");
    if (report.loads.empty() && report.bins.empty())
        return out + paragraph("No load and no bin is recorded this season.");
    if (!report.loads.empty()) {
        PageTable table(
            fmt::format(
                "Loads by time. Cleared: no valid result over the limit, and a chance of at most {} of being over. "
                "Undecided: hold, second sample, laboratory. State and reason go by the limit of the bin that a load "
                "is meant for, which may be another than the one at the head of this page.",
                percent_text(report.load_cap)),
            {{"Load", false, ""},
             {"Time", false, "keep"},
             {"From", false, "of"},
             {"Mass", true, ""},
             {"DON, mg/kg", true, ""},
             {over_words(report), true, ""},
             {"State", false, ""},
             {"Bin", false, ""},
             {"Because", false, "words"}});
        for (const LoadRow& load : report.loads) {
            std::string content = estimate(load.median_mg_per_kg);
            if (load.low90_mg_per_kg && load.high90_mg_per_kg) {
                content += small(interval_text(*load.low90_mg_per_kg, *load.high90_mg_per_kg));
            }
            const std::string bin =
                load.bin.empty() ? nothing : escaped(load.bin) + small(load.is_there ? "" : "advised");
            table.row({escaped(load.load) + small(load.truck), time_html(load.time), escaped(load.from),
                       load.mass_t ? escaped(tonnes_text(*load.mass_t)) : nothing, content, chance(load.exceedance),
                       state_html(load.state), bin, escaped(load.reason)});
        }
        out += table.html("loads");
        out += caution_box(std::string(spoken(caution::no_thinning)) + " " + spoken(caution::wet_on_hold));
    }
    if (!report.bins.empty()) {
        PageTable table("What lies in the bins by the recorded moves.",
                        {{"Bin", false, ""},
                         {"For", false, "of"},
                         {"Content", true, ""},
                         {"Mean DON, mg/kg", true, ""},
                         {"Chance that the mean is over the bin's limit", true, ""},
                         {"Chance that one test of a buyer rejects it", true, ""},
                         {"Holds", false, "words"}});
        bool feed = false;
        for (const BinRow& bin : report.bins) {
            feed = feed || bin.purpose == models::Purpose::feed;
            std::string mean = estimate(bin.mean_mg_per_kg);
            if (bin.low90_mg_per_kg && bin.high90_mg_per_kg)
                mean += small(interval_text(*bin.low90_mg_per_kg, *bin.high90_mg_per_kg));
            table.row({escaped(bin.bin), escaped(models::in_words(bin.purpose)) + small(bin.limit),
                       escaped(tonnes_text(bin.content_t)) + small("of " + tonnes_text(bin.capacity_t)), mean,
                       chance(bin.exceedance), chance(bin.rejection_probability),
                       escaped(bin.holds) + small(bin.note)});
        }
        out += table.html("bins");
        if (feed) out += caution_box(spoken(caution::feed));
    }
    return out;
}

std::string method_section(const SeasonReport& report) {
    std::string out = heading("method", "What this can and cannot say");
    if (report.ranking_only) {
        out += paragraph(
            "It can say which fields had weather, residue and cultivar that favour the disease. It cannot say how much "
            "DON "
            "any of them holds: no test was made.");
    } else {
        out += paragraph(
            "Contents are estimates from one statistical model of all results in the store up to this season" +
            std::string(report.hindsight ? " and, in hindsight, of later ones" : "") +
            ", with the disease risk as a guide. A 90 % interval is meant to hold the truth nine times in ten; one in "
            "ten lies outside. Sampling, grinding and the test itself each add to the width, and sampling most.");
        out += paragraph(
            "A field without a result of its own is known only through its neighbours in weather and season: its "
            "interval is "
            "wide, and it is no proof of anything. A number for a field is its mean; single places and single trucks "
            "vary around it. Standing crop, combine stream, truck and bin are not the same grain, and a result of one "
            "is "
            "carried to another with a margin for that.");
        out += paragraph(
            "An estimate or a neighbour may raise a suspicion. It never clears grain whose own valid result is over "
            "the "
            "limit, and every valid result counts: testing again until one passes changes nothing.");
    }
    if (!report.notes.empty()) {
        out += "<p><b>Left out or assumed</b></p>\n<ul>\n";
        for (const std::string& note : report.notes) out += "<li>" + escaped(note) + "</li>\n";
        out += "</ul>\n";
    }
    return out;
}

std::string chain_section(const SeasonReport& report) {
    std::string out = heading("chain", "How to check this page");
    if (!report.chain)
        return out + paragraph("This page was made without a chain of records and proves nothing about itself.");
    const Chain& chain = *report.chain;
    if (!chain.unbroken) {
        return out + caution_box("The chain of records is broken: " + chain.detail +
                                 ". Something was changed outside of the program; do not rely on this page.");
    }
    out += paragraph(fmt::format(
        "Every change of the store is a record that carries the SHA-256 of the record before it, so nothing can "
        "be altered or taken out unseen. This page was made when the chain had {}; the last of them is",
        models::counted(chain.records, "record")));
    out += fmt::format("<p><code class=\"hash\">{}</code></p>\n", escaped(chain.last_hash));
    out += fmt::format(
        "<p>To check it, run <code>lodicule check {}</code> on the store. It goes through the chain and names its "
        "length and "
        "last record: with the same length the last record must be the one above. If it is longer, something was "
        "added since; make this page again and compare.</p>\n",
        escaped(report.store.empty() ? "STORE" : report.store));
    return out;
}

}  // namespace

std::string season_report_html(const SeasonReport& report) {
    std::string body = opening(report) + in_short(report) + figures(report) + what_was_tested(report) +
                       fields_section(report) + grain_section(report) + method_section(report);
    body += heading("safety", "At work") + paragraph(spoken(caution::at_work));
    body += chain_section(report);
    return page(fmt::format("Season {}: DON record", report.season), body);
}

void write_season_report(const SeasonReport& report, const std::filesystem::path& file) {
    if (file.extension() != ".html") {
        throw models::Error(fmt::format("a report is not written as \"{}\"", file.extension().string()), file.string(),
                            "end the name in .html");
    }
    geo::write_whole_file(file, season_report_html(report));
}

}  // namespace app::report
