#pragma once

#include <cstdint>
#include <filesystem>
#include <memory>
#include <vector>

namespace app::window {

/// An OpenGL 3.3 context without any display (EGL, surfaceless) that draws into a picture in memory.
class Offscreen {
 public:
    /// @throws models::Error  the machine's EGL has no surfaceless platform or no OpenGL 3.3
    Offscreen(int width, int height);
    ~Offscreen();
    Offscreen(const Offscreen&) = delete;
    Offscreen& operator=(const Offscreen&) = delete;

    void begin_picture();                        ///< clears and makes it the target
    std::vector<std::uint8_t> read_rgb() const;  ///< row 0 on top, three bytes a pixel
    /// Written beside and renamed.
    void save_png(const std::filesystem::path& png) const;

 private:
    struct Context;
    int width_, height_;
    std::unique_ptr<Context> context_;
};

}  // namespace app::window
