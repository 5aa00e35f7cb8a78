#include "app/window/card_areas.h"

#include <algorithm>

#include <GL/gl.h>
#include <GL/glext.h>
#include <imgui.h>

namespace app::window {

namespace {

/// Nothing beyond the command's clip rectangle is painted from now on; false where nothing of it is to be seen.
bool keep_within_clip(const ImDrawCmd& command) {
    const ImDrawData& frame = *ImGui::GetDrawData();
    GLint viewport[4] = {};
    glGetIntegerv(GL_VIEWPORT, viewport);
    const auto px = [](float at, float origin, float scale) { return static_cast<int>((at - origin) * scale); };
    const int left = px(command.ClipRect.x, frame.DisplayPos.x, frame.FramebufferScale.x);
    const int top = px(command.ClipRect.y, frame.DisplayPos.y, frame.FramebufferScale.y);
    const int right = px(command.ClipRect.z, frame.DisplayPos.x, frame.FramebufferScale.x);
    const int bottom = px(command.ClipRect.w, frame.DisplayPos.y, frame.FramebufferScale.y);
    if (right <= left || bottom <= top) return false;
    glScissor(left, viewport[3] - bottom, right - left, bottom - top);
    return true;
}

void clear_area(const ImDrawList*, const ImDrawCmd* command) {
    if (!keep_within_clip(*command)) return;
    const auto fill = static_cast<ImU32>(reinterpret_cast<std::uintptr_t>(command->UserCallbackData));
    const auto channel = [fill](int shift) { return static_cast<float>((fill >> shift) & 0xFFU) / 255.0F; };
    glClearColor(channel(IM_COL32_R_SHIFT), channel(IM_COL32_G_SHIFT), channel(IM_COL32_B_SHIFT), 1.0F);
    glClear(GL_COLOR_BUFFER_BIT);
}

// A triangle that holds the whole viewport; its corners are told by their numbers.
constexpr const char* corners_of_all =
    "#version 150\n"
    "void main() { gl_Position = vec4(gl_VertexID == 1 ? 3.0 : -1.0, gl_VertexID == 2 ? 3.0 : -1.0, 0.0, 1.0); }";
constexpr const char* one_colour =
    "#version 150\n"
    "uniform vec4 colour;\n"
    "out vec4 painted;\n"
    "void main() { painted = colour; }";

GLuint compiled_shader(GLenum kind, const char* text) {
    const GLuint shader = glCreateShader(kind);
    glShaderSource(shader, 1, &text, nullptr);
    glCompileShader(shader);
    return shader;
}

}  // namespace

void add_cleared_area(ImDrawList& list, std::uint32_t fill) {
    list.AddCallback(clear_area, reinterpret_cast<void*>(static_cast<std::uintptr_t>(fill)));
}

CardCoats::~CardCoats() {
    if (program_ != 0) glDeleteProgram(program_);
}

void CardCoats::make() {
    tried_ = true;
    const GLuint corners = compiled_shader(GL_VERTEX_SHADER, corners_of_all);
    const GLuint pixels = compiled_shader(GL_FRAGMENT_SHADER, one_colour);
    const GLuint program = glCreateProgram();
    glAttachShader(program, corners);
    glAttachShader(program, pixels);
    glLinkProgram(program);
    glDeleteShader(corners);
    glDeleteShader(pixels);
    GLint linked = GL_FALSE;
    glGetProgramiv(program, GL_LINK_STATUS, &linked);
    if (linked == GL_FALSE) {
        glDeleteProgram(program);
        return;
    }
    program_ = program;
    colour_at_ = glGetUniformLocation(program, "colour");
}

bool CardCoats::add(ImDrawList& list, const drawing::Colour& colour) {
    if (!tried_) make();
    if (program_ == 0) return false;
    const auto share = [](std::uint8_t channel) { return static_cast<float>(channel) / 255.0F; };
    const Coat wanted{program_,           colour_at_,         share(colour.red), share(colour.green),
                      share(colour.blue), share(colour.alpha)};
    const auto found = std::find_if(coats_.begin(), coats_.end(), [&](const Coat& one) {
        return one.red == wanted.red && one.green == wanted.green && one.blue == wanted.blue &&
               one.alpha == wanted.alpha;
    });
    list.AddCallback(cover, found == coats_.end() ? &coats_.emplace_back(wanted) : &*found);
    return true;
}

void CardCoats::cover(const ImDrawList*, const ImDrawCmd* command) {
    if (!keep_within_clip(*command)) return;
    const Coat& coat = *static_cast<const Coat*>(command->UserCallbackData);
    // Dear ImGui's blending stands, and its array of corners, none of which is read.
    GLint before = 0;
    glGetIntegerv(GL_CURRENT_PROGRAM, &before);
    glUseProgram(coat.program);
    glUniform4f(coat.colour_at, coat.red, coat.green, coat.blue, coat.alpha);
    glDrawArrays(GL_TRIANGLES, 0, 3);
    glUseProgram(static_cast<GLuint>(before));
}

}  // namespace app::window
