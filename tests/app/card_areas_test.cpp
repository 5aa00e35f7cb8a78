#include "app/window/card_areas.h"

#include <array>
#include <cstdlib>
#include <vector>

#include <EGL/egl.h>
#include <GL/gl.h>
#include <GL/glext.h>
#include <catch2/catch.hpp>
#include <imgui.h>

#include "app/window/offscreen.h"

/// Large areas of one colour on the graphics card, without a screen.
using app::window::add_cleared_area;
using app::window::CardCoats;

namespace {

constexpr int side = 32;

/// One frame of 32 x 32 pixels, whose list is filled by `draw` and whose callbacks alone are painted.
template <typename Draw>
void paint_frame(const Draw& draw) {
    ImGui::CreateContext();
    ImGuiIO& io = ImGui::GetIO();
    io.IniFilename = nullptr;
    io.DisplaySize = {side, side};
    io.DeltaTime = 1.0F / 60.0F;
    unsigned char* letters = nullptr;
    int width = 0, height = 0;
    io.Fonts->GetTexDataAsAlpha8(&letters, &width, &height);
    ImGui::NewFrame();
    draw(*ImGui::GetForegroundDrawList());
    ImGui::Render();
    const auto make_array = reinterpret_cast<PFNGLGENVERTEXARRAYSPROC>(eglGetProcAddress("glGenVertexArrays"));
    const auto use_array = reinterpret_cast<PFNGLBINDVERTEXARRAYPROC>(eglGetProcAddress("glBindVertexArray"));
    GLuint corners = 0;
    make_array(1, &corners);
    use_array(corners);
    glViewport(0, 0, side, side);
    glEnable(GL_SCISSOR_TEST);
    glEnable(GL_BLEND);
    glBlendFunc(GL_SRC_ALPHA, GL_ONE_MINUS_SRC_ALPHA);
    const ImDrawData& data = *ImGui::GetDrawData();
    for (int i = 0; i < data.CmdListsCount; ++i)
        for (const ImDrawCmd& command : data.CmdLists[i]->CmdBuffer)
            if (command.UserCallback != nullptr) command.UserCallback(data.CmdLists[i], &command);
    use_array(0);
    ImGui::DestroyContext();
}

std::array<int, 3> pixel(int x, int y_from_above) {
    std::array<unsigned char, 4> read{};
    glReadPixels(x, side - 1 - y_from_above, 1, 1, GL_RGBA, GL_UNSIGNED_BYTE, read.data());
    return {read[0], read[1], read[2]};
}

}  // namespace

TEST_CASE("a coat covers what it was laid over in its share of the colour, and nothing beside") {
    const app::window::Offscreen screen(side, side);
    GLint before = 0, after = -1;
    glGetIntegerv(GL_CURRENT_PROGRAM, &before);
    CardCoats coats;
    paint_frame([&](ImDrawList& list) {
        add_cleared_area(list, IM_COL32(100, 40, 200, 255));
        list.PushClipRect({8, 4}, {24, 12});
        CHECK(coats.add(list, {200, 240, 0, 128}));
        list.PopClipRect();
    });
    CHECK(pixel(2, 2) == std::array{100, 40, 200});
    CHECK(pixel(7, 8) == std::array{100, 40, 200});
    CHECK(pixel(24, 8) == std::array{100, 40, 200});
    CHECK(pixel(16, 12) == std::array{100, 40, 200});
    // Half of each, as 128 of 255 is; a channel is kept in whole numbers.
    for (const auto& [x, y] : {std::pair{8, 4}, {23, 11}, {16, 8}}) {
        const std::array<int, 3> there = pixel(x, y), wanted{150, 140, 100};
        for (std::size_t channel = 0; channel < 3; ++channel) CHECK(std::abs(there[channel] - wanted[channel]) <= 1);
    }
    glGetIntegerv(GL_CURRENT_PROGRAM, &after);
    CHECK(after == before);
}
