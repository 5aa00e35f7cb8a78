#include "app/window/backdrop_panel.h"

#include <algorithm>
#include <filesystem>
#include <system_error>
#include <utility>

#include "app/backdrop_words.h"
#include "app/drawing/figures/map_figure.h"
#include "app/window/session.h"
#include "app/window/take_over.h"
#include "models/error.h"

namespace app::window {

namespace {

constexpr double ground_around = 0.5;         // of the fields' longer side, on each side of them
constexpr double coarser_than_screen = 1.5;   // from this on a finer picture is read
constexpr long long most_pixels = 4'000'000;  // of a picture: 16 MB

bool lies_inside(const models::BoxM& inner, const models::BoxM& outer) {
    return inner.x_min_m >= outer.x_min_m && inner.x_max_m <= outer.x_max_m && inner.y_min_m >= outer.y_min_m &&
           inner.y_max_m <= outer.y_max_m;
}

models::BoxM common_box(const models::BoxM& a, const models::BoxM& b) {
    return {std::max(a.x_min_m, b.x_min_m), std::max(a.y_min_m, b.y_min_m), std::min(a.x_max_m, b.x_max_m),
            std::min(a.y_max_m, b.y_max_m)};
}

bool is_same_look(const std::optional<LookAtBackdrop>& a, const std::optional<LookAtBackdrop>& b) {
    return a && b && a->metres_per_px == b->metres_per_px && a->box.x_min_m == b->box.x_min_m &&
           a->box.y_min_m == b->box.y_min_m && a->box.x_max_m == b->box.x_max_m && a->box.y_max_m == b->box.y_max_m;
}

/// The fields of the answer and the ground around them.
std::optional<models::BoxM> ground_of(const Session& session) {
    if (!session.answer || !session.answer->view.data.work) return std::nullopt;
    const std::optional<models::BoxM> fields = drawing::box_of(session.answer->content_map);
    if (!fields) return std::nullopt;
    const double around_m = ground_around * std::max({fields->width_m(), fields->height_m(), 200.0});
    return models::BoxM{fields->x_min_m - around_m, fields->y_min_m - around_m, fields->x_max_m + around_m,
                        fields->y_max_m + around_m};
}

void begin_reading(Session& session, const geo::BackdropWanted& wanted, bool nearer) {
    BackdropPanel& panel = session.backdrop;
    panel.reads_nearer = nearer;
    panel.reading = std::make_unique<Job<BackdropPicture>>(
        spoken(words::behind_reading),
        [file = panel.file, wanted](const models::Progress& progress) {
            BackdropPicture picture;
            picture.read = geo::read_backdrop(file, wanted, progress);
            picture.image = {picture.read.width, picture.read.height, std::exchange(picture.read.rgba, {})};
            return picture;
        },
        session.wake);
}

void forget_pictures(Session& session) {
    BackdropPanel& panel = session.backdrop;
    let_go(session, std::move(panel.reading));
    panel.whole.reset();
    panel.nearer.reset();
    panel.asked.reset();
    panel.read_for.reset();
    panel.problem.clear();
}

/// The one of the two that is known so; null: another has taken its place.
std::shared_ptr<const BackdropPicture>* picture_known_by(BackdropPanel& panel, const std::shared_ptr<const void>& by) {
    for (auto* picture : {&panel.whole, &panel.nearer})
        if (*picture && (*picture)->known_by == by) return picture;
    return nullptr;
}

bool take_picture(Session& session) {
    BackdropPanel& panel = session.backdrop;
    const auto left = take_over(session, panel.reading);
    if (!left) return false;
    if (left->result) {
        (panel.reads_nearer ? panel.nearer : panel.whole) = left->result;
    } else if (!left->stopped) {
        // A file that is damaged where it is looked at closely is not shown from afar either.
        panel.problem = left->problem;
        panel.whole.reset();
        panel.nearer.reset();
    }
    return true;
}

}  // namespace

void step_behind(Session& session, const BackdropStep& step) {
    BackdropPanel& panel = session.backdrop;
    if (const auto* choose = std::get_if<ChooseBackdrop>(&step)) {
        forget_pictures(session);
        // It is found again from wherever the window is opened next.
        std::error_code unknown;
        const std::filesystem::path whole = std::filesystem::absolute(choose->file, unknown);
        panel.file = choose->file.empty() || unknown ? choose->file : whole.string();
        panel.shown = true;
    }
    if (const auto* show = std::get_if<ShowBackdrop>(&step)) {
        // A file that was put in its place in the meantime is tried again.
        if (show->shown && !panel.problem.empty()) forget_pictures(session);
        panel.shown = show->shown;
    }
    if (const auto* fade = std::get_if<FadeBackdrop>(&step)) panel.strength = std::clamp(fade->strength, 0.1, 1.0);
    if (const auto* look = std::get_if<LookAtBackdrop>(&step)) panel.asked = *look;
    if (const auto* there = std::get_if<BackdropIsOnCard>(&step)) {
        if (auto* picture = picture_known_by(panel, there->known_by)) {
            const drawing::Image size{(*picture)->image.width, (*picture)->image.height, {}};
            *picture =
                std::make_shared<const BackdropPicture>(BackdropPicture{(*picture)->read, size, (*picture)->known_by});
        }
    }
    if (const auto* lost = std::get_if<BackdropIsLost>(&step)) {
        if (auto* picture = picture_known_by(panel, lost->known_by)) {
            picture->reset();
            panel.read_for.reset();  // what is seen from near by is asked for again, too
        }
    }
}

bool is_same_picture(const std::shared_ptr<const BackdropPicture>& a, const std::shared_ptr<const BackdropPicture>& b) {
    return a && b ? a->known_by == b->known_by : a == b;
}

bool collect_backdrop(Session& session) {
    BackdropPanel& panel = session.backdrop;
    const bool changed = take_picture(session);
    if (panel.file.empty() || !panel.shown || !panel.problem.empty()) return changed;
    const std::optional<models::BoxM> ground = ground_of(session);
    if (!ground) return changed;
    geo::BackdropWanted wanted;
    wanted.system = session.answer->view.data.work->proj_text();
    wanted.most_pixels = most_pixels;
    const bool other_ground = panel.whole && !lies_inside(*ground, panel.whole_of);
    if (panel.reading) {
        if (panel.reads_nearer && (other_ground || !is_same_look(panel.asked, panel.read_for))) panel.reading->cancel();
        return changed;
    }
    if (!panel.whole || other_ground) {
        panel.whole_of = wanted.box = *ground;
        begin_reading(session, wanted, false);
    } else if (panel.asked && !is_same_look(panel.asked, panel.read_for)) {
        panel.read_for = panel.asked;
        wanted.box = common_box(panel.asked->box, panel.whole->read.box);
        wanted.metres_per_px = panel.asked->metres_per_px;
        wanted.may_be_empty = true;
        if (wanted.box.width_m() > 0.0 && wanted.box.height_m() > 0.0) begin_reading(session, wanted, true);
    }
    return changed;
}

std::optional<LookAtBackdrop> nearer_look(const BackdropPanel& panel, const models::BoxM& seen, double metres_per_px) {
    if (!panel.shown || !panel.whole || !panel.problem.empty()) return std::nullopt;
    const geo::Backdrop& whole = panel.whole->read;
    const double wanted = coarser_than_screen * metres_per_px;
    if (whole.is_finest || whole.metres_per_px <= wanted) return std::nullopt;
    const models::BoxM here = common_box(seen, whole.box);
    if (!(here.width_m() > 0.0) || !(here.height_m() > 0.0)) return std::nullopt;
    if (panel.nearer && lies_inside(here, panel.nearer->read.box) &&
        (panel.nearer->read.is_finest || panel.nearer->read.metres_per_px <= wanted))
        return std::nullopt;
    // What is seen and half of it more on each side, so that a step aside needs no other.
    const double dx = 0.5 * seen.width_m(), dy = 0.5 * seen.height_m();
    const LookAtBackdrop look{{seen.x_min_m - dx, seen.y_min_m - dy, seen.x_max_m + dx, seen.y_max_m + dy},
                              metres_per_px};
    if (is_same_look(panel.asked, look)) return std::nullopt;
    return look;
}

}  // namespace app::window
