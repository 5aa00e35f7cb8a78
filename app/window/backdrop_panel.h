#pragma once

#include <memory>
#include <optional>
#include <string>
#include <variant>

#include "app/drawing/painter.h"
#include "app/job.h"
#include "geo/backdrop.h"
#include "models/geometry.h"

namespace app::window {

struct Session;

// What a user may ask of the picture behind the map; each is an Action in a BehindTheMap.
/// A raster file of the user's; empty: none.
struct ChooseBackdrop {
    std::string file;
};
struct ShowBackdrop {
    bool shown;
};
/// 0.1 to 1 of the picture, the rest the colour of the ground.
struct FadeBackdrop {
    double strength;
};
/// The map came to rest here, and the picture of the whole district is coarser than the screen.
struct LookAtBackdrop {
    models::BoxM box;
    double metres_per_px;
};
/// A picture lies on the graphics card: its pixels, many megabytes, need not be kept beside it.
struct BackdropIsOnCard {
    std::shared_ptr<const void> known_by;
};
/// It does so no more, and its pixels are not there either: it is read again.
struct BackdropIsLost {
    std::shared_ptr<const void> known_by;
};
using BackdropStep =
    std::variant<ChooseBackdrop, ShowBackdrop, FadeBackdrop, LookAtBackdrop, BackdropIsOnCard, BackdropIsLost>;

/// A picture as it was read, ready to be drawn.
struct BackdropPicture {
    geo::Backdrop read;    ///< its colours are in `image`
    drawing::Image image;  ///< without pixels once it lies on the graphics card
    /// The same with and without pixels, and of no other picture; what is kept of it elsewhere goes when this does.
    std::shared_ptr<const void> known_by = std::make_shared<const int>(0);
};
/// Whether they are the same picture, with pixels or without.
bool is_same_picture(const std::shared_ptr<const BackdropPicture>& a, const std::shared_ptr<const BackdropPicture>& b);

/// A raster of the user's behind the map. All fields with ground around them are read once; where the map is looked at
/// from near by, a finer picture of what is seen is read and laid over it. Files are read beside the window.
struct BackdropPanel {
    std::string file;  ///< empty: none
    bool shown = true;
    double strength = 0.8;

    std::shared_ptr<const BackdropPicture> whole, nearer;
    std::string problem;  ///< why there is none
    std::unique_ptr<Job<BackdropPicture>> reading;

    // What is being read, and what is asked for next.
    bool reads_nearer = false;
    models::BoxM whole_of;
    std::optional<LookAtBackdrop> asked, read_for;
};

/// The only way in which a BackdropPanel changes.
void step_behind(Session& session, const BackdropStep& step);
/// Takes what was read and begins what is wanted; true where something changed.
bool collect_backdrop(Session& session);
/// What is to be read for a map that rests there; none where what is known is fine enough.
std::optional<LookAtBackdrop> nearer_look(const BackdropPanel& panel, const models::BoxM& seen, double metres_per_px);

}  // namespace app::window
