#include "app/stages/walk_stage.h"

#include <algorithm>
#include <set>

#include <fmt/format.h>

#include "models/error.h"
#include "models/spoken.h"

namespace app {

namespace walk_stage_parts {

/// "2026-C06-1", or -2 where that is taken; letters that a label or a file name cannot hold become a dash.
std::string free_code(const FieldWalk& walk, int season, const std::set<std::string>& taken) {
    std::string ground = walk.part.empty() ? walk.field : walk.field + "-" + walk.part;
    for (char& letter : ground) {
        const bool plain = (letter >= '0' && letter <= '9') || (letter >= 'A' && letter <= 'Z') ||
                           (letter >= 'a' && letter <= 'z') || letter == '-' || letter == '_';
        if (!plain) letter = '-';
    }
    for (int number = 1;; ++number) {
        std::string code = fmt::format("{}-{}-{}", season, ground, number);
        if (taken.count(code) == 0) return code;
    }
}

std::vector<models::OutlineM> parts_apart(const SeasonData& data, const models::Field& of) {
    std::vector<models::OutlineM> apart;
    for (const models::Field& other : data.fields) {
        if (other.field == of.field && of.part.empty() && !other.part.empty()) apart.push_back(other.outline_m);
    }
    return apart;
}

std::set<std::string> samples_taken(const SeasonView& view) {
    std::set<std::string> taken;
    for (const models::Sample& sample : view.data.samples) taken.insert(sample.sample);
    return taken;
}

/// Lays the walk of a field that has an outline.
void lay_walk(const SeasonView& view, const FieldView& field, int rank, const std::string& why,
              const WalkSettings& settings, std::set<std::string>& taken, FieldWalks& out) {
    const models::CropRecord& crop = view.data.crops[field.crop];
    FieldWalk walk{rank, crop.field, crop.part, field.name, "", field.outline, settings.keep_out, {}, why};
    walk.sample = free_code(walk, view.season, taken);
    taken.insert(walk.sample);
    models::WalkQuestion question;
    question.outline = field.outline->outline_m;
    for (models::OutlineM& part : parts_apart(view.data, *field.outline)) walk.keep_out.push_back(std::move(part));
    question.keep_out = walk.keep_out;
    question.stops = settings.stops;
    question.headland_m = settings.headland_m;
    question.shape = settings.shape;
    walk.walk = models::sampling_walk(question);
    for (const std::string& note : walk.walk.notes) out.notes.push_back(field.name + ": " + note);
    out.walks.push_back(std::move(walk));
}

}  // namespace walk_stage_parts

FieldWalks walks_of_order(const SeasonView& view, const WalkSettings& settings) {
    using namespace walk_stage_parts;
    if (!view.order) throw models::Error(models::phrase("without an order of fields there is no walk"));
    FieldWalks out;
    std::set<std::string> taken = samples_taken(view);
    std::string without;
    int asked = 0;
    for (const models::RankedField& ranked : view.order->fields) {
        if (ranked.test_its_loads) continue;
        if (++asked > settings.fields) break;
        const auto found = std::find_if(view.fields.begin(), view.fields.end(),
                                        [&](const FieldView& one) { return one.name == ranked.field; });
        if (found == view.fields.end() || found->outline == nullptr) {
            without += (without.empty() ? "" : ", ") + ranked.field;
            continue;
        }
        lay_walk(view, *found, ranked.rank, ranked.why, settings, taken, out);
    }
    if (!without.empty())
        out.notes.push_back(models::phrase("no outline is drawn, so no walk can be laid: {}", without));
    if (out.walks.empty())
        throw models::Error(
            asked == 0 ? models::phrase("no field of the order still stands, so there is nothing to walk")
                       : models::phrase("none of the first fields has an outline, so there is nothing to walk"),
            "", models::phrase("import outlines: lodicule import STORE fields FILE"));
    return out;
}

FieldWalks walk_of_field(const SeasonView& view, const std::string& name, const WalkSettings& settings) {
    using namespace walk_stage_parts;
    const auto found =
        std::find_if(view.fields.begin(), view.fields.end(), [&](const FieldView& one) { return one.name == name; });
    if (found == view.fields.end())
        throw models::Error(models::phrase("season {} has no field \"{}\"", view.season, name));
    if (found->outline == nullptr)
        throw models::Error(models::phrase("no outline is drawn, so no walk can be laid"), name,
                            models::phrase("import outlines: lodicule import STORE fields FILE"));
    const auto status = view.data.crops[found->crop].status.value_or(models::FieldStatus::standing);
    bool cut = status != models::FieldStatus::standing;
    int rank = 1;
    std::string why;
    if (view.order)
        for (const models::RankedField& ranked : view.order->fields) {
            if (ranked.field != name) continue;
            rank = ranked.rank;
            why = ranked.why;
            cut = cut || ranked.test_its_loads;
        }
    if (cut)
        throw models::Error(models::phrase("it is cut, or will be before a result, so there is nothing to walk"), name,
                            models::phrase("test its loads instead"));
    FieldWalks out;
    std::set<std::string> taken = samples_taken(view);
    lay_walk(view, *found, rank, why, settings, taken, out);
    return out;
}

}  // namespace app
