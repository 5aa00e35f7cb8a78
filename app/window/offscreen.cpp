#include "app/window/offscreen.h"

#include <cstring>
#include <string>

#include <EGL/egl.h>
#include <EGL/eglext.h>
#include <GL/gl.h>
#include <GL/glext.h>
#include <stb_image_write.h>

#include "geo/whole_file.h"
#include "models/error.h"

namespace app::window {

struct Offscreen::Context {
    EGLDisplay display = EGL_NO_DISPLAY;
    EGLContext context = EGL_NO_CONTEXT;
    GLuint frame = 0;
    GLuint colour = 0;
};

namespace {

[[noreturn]] void refuse(const char* what) {
    throw models::Error(std::string("no picture can be drawn without a display: ") + what, "",
                        "install libegl1 and libgl1-mesa-dri; LIBGL_ALWAYS_SOFTWARE=1 draws without a graphics card");
}

}  // namespace

Offscreen::Offscreen(int width, int height) : width_(width), height_(height), context_(std::make_unique<Context>()) {
    const auto get_display =
        reinterpret_cast<PFNEGLGETPLATFORMDISPLAYEXTPROC>(eglGetProcAddress("eglGetPlatformDisplayEXT"));
    if (get_display == nullptr) refuse("EGL knows no platforms");
    Context& c = *context_;
    c.display = get_display(EGL_PLATFORM_SURFACELESS_MESA, EGL_DEFAULT_DISPLAY, nullptr);
    if (c.display == EGL_NO_DISPLAY || eglInitialize(c.display, nullptr, nullptr) == EGL_FALSE) {
        refuse("EGL has no surfaceless platform");
    }
    if (eglBindAPI(EGL_OPENGL_API) == EGL_FALSE) refuse("EGL has no OpenGL");
    const EGLint wanted[] = {EGL_SURFACE_TYPE, EGL_PBUFFER_BIT, EGL_RENDERABLE_TYPE, EGL_OPENGL_BIT, EGL_NONE};
    EGLConfig config = nullptr;
    EGLint found = 0;
    eglChooseConfig(c.display, wanted, &config, 1, &found);
    const EGLint attributes[] = {
        EGL_CONTEXT_MAJOR_VERSION,           3,       EGL_CONTEXT_MINOR_VERSION, 3, EGL_CONTEXT_OPENGL_PROFILE_MASK,
        EGL_CONTEXT_OPENGL_CORE_PROFILE_BIT, EGL_NONE};
    c.context = eglCreateContext(c.display, found > 0 ? config : nullptr, EGL_NO_CONTEXT, attributes);
    if (c.context == EGL_NO_CONTEXT ||
        eglMakeCurrent(c.display, EGL_NO_SURFACE, EGL_NO_SURFACE, c.context) == EGL_FALSE) {
        refuse("there is no OpenGL 3.3");
    }
    glGenFramebuffers(1, &c.frame);
    glBindFramebuffer(GL_FRAMEBUFFER, c.frame);
    glGenRenderbuffers(1, &c.colour);
    glBindRenderbuffer(GL_RENDERBUFFER, c.colour);
    glRenderbufferStorage(GL_RENDERBUFFER, GL_RGBA8, width, height);
    glFramebufferRenderbuffer(GL_FRAMEBUFFER, GL_COLOR_ATTACHMENT0, GL_RENDERBUFFER, c.colour);
    if (glCheckFramebufferStatus(GL_FRAMEBUFFER) != GL_FRAMEBUFFER_COMPLETE) refuse("the picture is too large");
}

Offscreen::~Offscreen() {
    if (context_->display == EGL_NO_DISPLAY) return;
    eglMakeCurrent(context_->display, EGL_NO_SURFACE, EGL_NO_SURFACE, EGL_NO_CONTEXT);
    if (context_->context != EGL_NO_CONTEXT) eglDestroyContext(context_->display, context_->context);
    eglTerminate(context_->display);
}

void Offscreen::begin_picture() {
    glBindFramebuffer(GL_FRAMEBUFFER, context_->frame);
    glViewport(0, 0, width_, height_);
    glClearColor(1.0F, 1.0F, 1.0F, 1.0F);
    glClear(GL_COLOR_BUFFER_BIT);
}

std::vector<std::uint8_t> Offscreen::read_rgb() const {
    const auto row = static_cast<std::size_t>(width_) * 3;
    std::vector<std::uint8_t> upside_down(row * static_cast<std::size_t>(height_)), pixels(upside_down.size());
    glFinish();
    glPixelStorei(GL_PACK_ALIGNMENT, 1);
    glReadPixels(0, 0, width_, height_, GL_RGB, GL_UNSIGNED_BYTE, upside_down.data());
    for (std::size_t y = 0; y < static_cast<std::size_t>(height_); ++y) {
        std::memcpy(pixels.data() + y * row, upside_down.data() + (static_cast<std::size_t>(height_) - 1 - y) * row,
                    row);
    }
    return pixels;
}

void Offscreen::save_png(const std::filesystem::path& png) const {
    const std::vector<std::uint8_t> pixels = read_rgb();
    std::string bytes;
    const auto take = [](void* to, void* data, int size) {
        static_cast<std::string*>(to)->append(static_cast<const char*>(data), static_cast<std::size_t>(size));
    };
    stbi_write_png_to_func(take, &bytes, width_, height_, 3, pixels.data(), width_ * 3);
    geo::write_whole_file(png, bytes);
}

}  // namespace app::window
