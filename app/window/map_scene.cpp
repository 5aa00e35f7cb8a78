#include "app/window/map_scene.h"

#include <algorithm>
#include <cmath>
#include <tuple>

#include <GL/gl.h>
#include <GL/glext.h>
#include <backends/imgui_impl_opengl3.h>
#include <imgui.h>

namespace app::window {

namespace {

using drawing::Rect;

/// How far beyond the canvas the map is kept, as a share of the canvas' longer side.
constexpr double share_beyond = 0.25;

auto tied(const Rect& r) {
    return std::tie(r.x, r.y, r.width, r.height);
}

/// Copies what was drawn in one list into another, moved by whole pixels so that letters stay sharp.
void copy_moved(const ImDrawList& from, ImDrawList& to, ImVec2 by) {
    for (const ImDrawCmd& command : from.CmdBuffer) {
        if (command.ElemCount == 0) continue;
        const ImDrawIdx* indices = from.IdxBuffer.Data + command.IdxOffset;
        const auto [least, most] = std::minmax_element(indices, indices + command.ElemCount);
        const int corners = *most - *least + 1;
        const ImDrawVert* vertices = from.VtxBuffer.Data + command.VtxOffset + *least;
        to.PushTextureID(command.TextureId);
        to.PrimReserve(static_cast<int>(command.ElemCount), corners);
        const unsigned first = to._VtxCurrentIdx;
        for (unsigned i = 0; i < command.ElemCount; ++i)
            to.PrimWriteIdx(static_cast<ImDrawIdx>(first + indices[i] - *least));
        for (int i = 0; i < corners; ++i) {
            const ImDrawVert& corner = vertices[i];
            to.PrimWriteVtx({corner.pos.x + by.x, corner.pos.y + by.y}, corner.uv, corner.col);
        }
        to.PopTextureID();
    }
}

}  // namespace

/// A picture of what is kept, on the graphics card, copied from there into each frame.
struct MapScene::CardPicture {
    GLuint frame = 0, colour = 0;
    Rect area;           ///< of the screen, before it is moved
    ImVec2 scale{1, 1};  ///< pixels of the picture to a unit of the screen
    ImVec2 moved{0, 0};

    CardPicture(ImDrawList& list, const Rect& shown, const drawing::Colour& ground)
        : area(shown), scale(ImGui::GetIO().DisplayFramebufferScale) {
        GLint frame_before = 0, texture_before = 0;
        glGetIntegerv(GL_DRAW_FRAMEBUFFER_BINDING, &frame_before);
        glGetIntegerv(GL_TEXTURE_BINDING_2D, &texture_before);
        glGenTextures(1, &colour);
        glBindTexture(GL_TEXTURE_2D, colour);
        // The order of bytes that screens have, so that the picture is copied and not converted.
        glTexImage2D(GL_TEXTURE_2D, 0, GL_RGBA8, px(area.width, scale.x), px(area.height, scale.y), 0, GL_BGRA,
                     GL_UNSIGNED_BYTE, nullptr);
        glTexParameteri(GL_TEXTURE_2D, GL_TEXTURE_MIN_FILTER, GL_NEAREST);
        glTexParameteri(GL_TEXTURE_2D, GL_TEXTURE_MAG_FILTER, GL_NEAREST);
        glBindTexture(GL_TEXTURE_2D, static_cast<GLuint>(texture_before));
        glGenFramebuffers(1, &frame);
        glBindFramebuffer(GL_FRAMEBUFFER, frame);
        glFramebufferTexture2D(GL_FRAMEBUFFER, GL_COLOR_ATTACHMENT0, GL_TEXTURE_2D, colour, 0);
        if (glCheckFramebufferStatus(GL_FRAMEBUFFER) == GL_FRAMEBUFFER_COMPLETE) {
            const auto channel = [](std::uint8_t c) { return static_cast<float>(c) / 255.0F; };
            glDisable(GL_SCISSOR_TEST);
            glClearColor(channel(ground.red), channel(ground.green), channel(ground.blue), 1.0F);
            glClear(GL_COLOR_BUFFER_BIT);
            ImDrawList* lists[] = {&list};
            ImDrawData data;
            data.Valid = true;
            data.CmdLists = lists;
            data.CmdListsCount = 1;
            data.TotalIdxCount = list.IdxBuffer.Size;
            data.TotalVtxCount = list.VtxBuffer.Size;
            data.DisplayPos = {static_cast<float>(area.x), static_cast<float>(area.y)};
            data.DisplaySize = {static_cast<float>(area.width), static_cast<float>(area.height)};
            data.FramebufferScale = scale;
            ImGui_ImplOpenGL3_RenderDrawData(&data);
        }
        glBindFramebuffer(GL_FRAMEBUFFER, static_cast<GLuint>(frame_before));
    }
    ~CardPicture() {
        glDeleteFramebuffers(1, &frame);
        glDeleteTextures(1, &colour);
    }
    CardPicture(const CardPicture&) = delete;
    CardPicture& operator=(const CardPicture&) = delete;

    static int px(double length, float by) { return static_cast<int>(std::lround(length * static_cast<double>(by))); }

    /// Called while the frame is drawn: fills the command's clip rectangle from the picture.
    static void copy(const ImDrawList*, const ImDrawCmd* command) {
        const CardPicture& picture = *static_cast<const CardPicture*>(command->UserCallbackData);
        GLint target = 0, source = 0, viewport[4] = {};
        glGetIntegerv(GL_DRAW_FRAMEBUFFER_BINDING, &target);
        glGetIntegerv(GL_READ_FRAMEBUFFER_BINDING, &source);
        glGetIntegerv(GL_VIEWPORT, viewport);
        const ImVec4& clip = command->ClipRect;
        const ImVec2 scale = picture.scale;
        const auto whole = [](float at, float by) { return static_cast<int>(at * by); };
        const int left = whole(clip.x, scale.x), top = whole(clip.y, scale.y);
        const int right = whole(clip.z, scale.x), bottom = whole(clip.w, scale.y);
        const int dx = px(picture.area.x + static_cast<double>(picture.moved.x), scale.x);
        const int dy = px(picture.area.y + static_cast<double>(picture.moved.y), scale.y);
        const int height = px(picture.area.height, scale.y);
        glBindFramebuffer(GL_READ_FRAMEBUFFER, picture.frame);
        glDisable(GL_SCISSOR_TEST);
        glBlitFramebuffer(left - dx, height - (bottom - dy), right - dx, height - (top - dy), left,
                          viewport[3] - bottom, right, viewport[3] - top, GL_COLOR_BUFFER_BIT, GL_NEAREST);
        glEnable(GL_SCISSOR_TEST);
        glBindFramebuffer(GL_READ_FRAMEBUFFER, static_cast<GLuint>(source));
    }
};

MapScene::MapScene() = default;
MapScene::~MapScene() = default;

bool MapScene::Subject::operator==(const Subject& other) const {
    const auto all = [](const Subject& s) {
        return std::tuple_cat(std::tie(s.figure, s.selected, s.text_px, s.ground.red, s.ground.green, s.ground.blue),
                              tied(s.canvas));
    };
    return all(*this) == all(other);
}

void MapScene::forget() {
    subject_.reset();
    picture_.reset();
}

void MapScene::show(ImDrawList& list, const Subject& subject, const drawing::MapView& view, bool dragging, bool on_card,
                    const std::function<void(ImDrawList& on, double beyond_px)>& draw) {
    const Rect& canvas = subject.canvas;
    const double beyond = std::ceil(share_beyond * std::max(canvas.width, canvas.height));
    double dx = (view_.centre_m.x_m - view.centre_m.x_m) / view.metres_per_px;
    double dy = (view.centre_m.y_m - view_.centre_m.y_m) / view.metres_per_px;
    const double reach = dragging ? beyond - 1.0 : 0.0;
    if (!subject_ || !(*subject_ == subject) || view_.metres_per_px != view.metres_per_px || std::abs(dx) > reach ||
        std::abs(dy) > reach) {
        if (!kept_) kept_ = std::make_unique<ImDrawList>(ImGui::GetDrawListSharedData());
        picture_.reset();
        kept_->_ResetForNewFrame();
        kept_->Flags = list.Flags;
        kept_->PushTextureID(ImGui::GetIO().Fonts->TexID);
        kept_->PushClipRect({static_cast<float>(canvas.x - beyond), static_cast<float>(canvas.y - beyond)},
                            {static_cast<float>(canvas.x + canvas.width + beyond),
                             static_cast<float>(canvas.y + canvas.height + beyond)});
        draw(*kept_, beyond);
        kept_->PopClipRect();
        kept_->PopTextureID();
        subject_ = subject;
        view_ = view;
        dx = dy = 0.0;
        ++times_drawn_;
    }
    const ImVec2 moved{static_cast<float>(std::round(dx)), static_cast<float>(std::round(dy))};
    if (dragging && on_card) {
        if (!picture_) {
            picture_ =
                std::make_unique<CardPicture>(*kept_,
                                              drawing::Rect{canvas.x - beyond, canvas.y - beyond,
                                                            canvas.width + 2.0 * beyond, canvas.height + 2.0 * beyond},
                                              subject.ground);
        }
        picture_->moved = moved;
        list.AddCallback(CardPicture::copy, picture_.get());
        return;
    }
    copy_moved(*kept_, list, moved);
}

}  // namespace app::window
