#pragma once

namespace app::window {

/// The letters on the graphics card, a byte to a pixel. Dear ImGui's own upload makes four of each, all white: several
/// times as much to be made at the start and kept while the window is open.
class FontTexture {
 public:
    /// Makes what Dear ImGui draws with; the letters have been baked. Before its first frame.
    FontTexture();
    ~FontTexture();
    FontTexture(const FontTexture&) = delete;
    FontTexture& operator=(const FontTexture&) = delete;
    /// The letters were baked anew.
    void make();

 private:
    unsigned texture_ = 0;
};

}  // namespace app::window
