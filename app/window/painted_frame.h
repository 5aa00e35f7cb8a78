#pragma once

#include <cstddef>
#include <vector>

#include "app/drawing/painter.h"

struct ImDrawData;

namespace app::window {

/// The frame that stands on the screen. Input asks for a few frames, of which most often the first alone looks
/// different, and without a graphics card painting costs twenty times what laying out does: a frame that would look the
/// same is not painted, so that the next key need not wait for it.
class PaintedFrame {
 public:
    /// What decides how a frame looks and is in none of its lists.
    struct Beside {
        int width = 0, height = 0;
        drawing::Colour paper = {};
        std::size_t map_looks = 0;      ///< MapScene::looks
        std::size_t textures_made = 0;  ///< TextureStore::made: a name of the card's may be given twice
    };
    /// Whether a frame would look as what stands there; where not, it does from now on, for the caller paints it.
    bool stands_there(const ImDrawData& frame, const Beside& beside);
    /// Nobody knows any more what stands there.
    void forget() { known_ = false; }

 private:
    void put(const void* bytes, std::size_t count);

    bool known_ = false;
    std::vector<std::byte> there_, now_;
};

}  // namespace app::window
