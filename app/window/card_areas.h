#pragma once

#include <cstdint>
#include <list>

#include "app/drawing/palette.h"

struct ImDrawCmd;
struct ImDrawList;

namespace app::window {

/// Large areas of one colour, painted by callbacks of a draw list, each of which fills its command's clip rectangle.
/// Dear ImGui would look every pixel of them up in the texture of letters and blend it, which without a graphics card
/// costs several times as much.
///
/// Opaque: cleared. @param fill  IM_COL32 of the colour, as the callback's data
void add_cleared_area(ImDrawList& list, std::uint32_t fill);

/// Thin coats over what is there, as numbers fade that are not those asked for.
class CardCoats {
 public:
    CardCoats() = default;
    CardCoats(const CardCoats&) = delete;
    CardCoats& operator=(const CardCoats&) = delete;
    ~CardCoats();
    /// Lays one over the list's clip rectangle; false where the card cannot: nothing was laid then. The coats have to
    /// be there until the list has been painted.
    bool add(ImDrawList& list, const drawing::Colour& colour);

 private:
    struct Coat {
        unsigned program;
        int colour_at;
        float red, green, blue, alpha;
    };
    static void cover(const ImDrawList*, const ImDrawCmd* command);
    void make();

    bool tried_ = false;
    unsigned program_ = 0;
    int colour_at_ = -1;
    std::list<Coat> coats_;  ///< a colour each: few
};

}  // namespace app::window
