#include "app/window/map_scene.h"

#include <algorithm>
#include <chrono>
#include <cmath>
#include <tuple>

#include <GL/gl.h>
#include <GL/glext.h>
#include <backends/imgui_impl_opengl3.h>
#include <imgui.h>

#include "models/memory.h"

namespace app::window {

namespace {

using drawing::Rect;

/// How far beyond the canvas the map is kept, as a share of the canvas' longer side.
constexpr double share_beyond = 0.25;

/// A map that takes longer is not drawn anew while the hand moves it, nor at once for a field that is chosen.
constexpr std::chrono::milliseconds quick{20};

auto tied(const Rect& r) {
    return std::tie(r.x, r.y, r.width, r.height);
}

/// Copies what was drawn in one list into another, moved.
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

    /// Where a coordinate of the screen as it was drawn lies now: moved + at * stretched.
    double stretched = 1.0;
    double moved_x = 0.0, moved_y = 0.0;

    /// Called while the frame is drawn: fills the command's clip rectangle from the picture, as far as that reaches.
    static void copy(const ImDrawList*, const ImDrawCmd* command) {
        const CardPicture& picture = *static_cast<const CardPicture*>(command->UserCallbackData);
        GLint target = 0, source = 0, viewport[4] = {};
        glGetIntegerv(GL_DRAW_FRAMEBUFFER_BINDING, &target);
        glGetIntegerv(GL_READ_FRAMEBUFFER_BINDING, &source);
        glGetIntegerv(GL_VIEWPORT, viewport);
        const ImVec4& clip = command->ClipRect;
        const auto fx = static_cast<double>(picture.scale.x), fy = static_cast<double>(picture.scale.y);
        const double k = picture.stretched;
        // In pixels of the frame: where the picture begins, and what of the clip rectangle it fills.
        const double x0 = (picture.moved_x + picture.area.x * k) * fx;
        const double y0 = (picture.moved_y + picture.area.y * k) * fy;
        const double width = picture.area.width * fx, height = picture.area.height * fy;
        const int left = static_cast<int>(std::max(static_cast<double>(clip.x) * fx, std::ceil(x0)));
        const int top = static_cast<int>(std::max(static_cast<double>(clip.y) * fy, std::ceil(y0)));
        const int right = static_cast<int>(std::min(static_cast<double>(clip.z) * fx, std::floor(x0 + width * k)));
        const int bottom = static_cast<int>(std::min(static_cast<double>(clip.w) * fy, std::floor(y0 + height * k)));
        if (right <= left || bottom <= top) return;
        const auto from_x = [&](int x) { return static_cast<int>(std::lround((x - x0) / k)); };
        const auto from_y = [&](int y) {
            return static_cast<int>(std::lround(height)) - static_cast<int>(std::lround((y - y0) / k));
        };
        glBindFramebuffer(GL_READ_FRAMEBUFFER, picture.frame);
        glDisable(GL_SCISSOR_TEST);
        glBlitFramebuffer(from_x(left), from_y(bottom), from_x(right), from_y(top), left, viewport[3] - bottom, right,
                          viewport[3] - top, GL_COLOR_BUFFER_BIT, k == 1.0 ? GL_NEAREST : GL_LINEAR);
        glEnable(GL_SCISSOR_TEST);
        glBindFramebuffer(GL_READ_FRAMEBUFFER, static_cast<GLuint>(source));
    }
};

MapScene::MapScene() = default;
MapScene::~MapScene() = default;

bool MapScene::Subject::operator==(const Subject& other) const {
    const auto all = [](const Subject& s) {
        return std::tuple_cat(std::tie(s.figure, s.selected, s.text_px, s.ground.red, s.ground.green, s.ground.blue,
                                       s.behind, s.nearer, s.behind_strength),
                              tied(s.canvas));
    };
    return all(*this) == all(other);
}

void MapScene::forget() {
    subject_.reset();
    picture_.reset();
}

void MapScene::show(ImDrawList& list, const Subject& subject, const drawing::MapView& view, const Moves& moves,
                    bool on_card, const std::function<void(ImDrawList& on, double beyond_px)>& draw) {
    const Rect& canvas = subject.canvas;
    const double beyond = std::ceil(share_beyond * std::max(canvas.width, canvas.height));
    double dx = (view_.centre_m.x_m - view.centre_m.x_m) / view.metres_per_px;
    double dy = (view.centre_m.y_m - view_.centre_m.y_m) / view.metres_per_px;
    const double reach = moves.held ? beyond - 1.0 : 0.0;
    // What matters less than that the hand is followed: which field's name goes first.
    Subject but_for_choice = subject;
    if (subject_) but_for_choice.selected = subject_->selected;
    const bool is_same = subject_ && *subject_ == subject;
    const bool has_scale = view_.metres_per_px == view.metres_per_px;
    const bool fits = is_same && has_scale && std::abs(dx) <= reach && std::abs(dy) <= reach;
    is_behind_ = !fits && on_card && picture_ && moves.lately && subject_ && *subject_ == but_for_choice &&
                 (is_slow_ || (is_same && !has_scale));
    if (!fits && !is_behind_) {
        const auto began = std::chrono::steady_clock::now();
        if (!kept_) kept_ = std::make_unique<ImDrawList>(ImGui::GetDrawListSharedData());
        picture_.reset();
        kept_->_ResetForNewFrame();
        kept_->Flags = list.Flags;
        kept_->PushTextureID(ImGui::GetIO().Fonts->TexID);
        const drawing::Rect drawn{canvas.x - beyond, canvas.y - beyond, canvas.width + 2.0 * beyond,
                                  canvas.height + 2.0 * beyond};
        kept_->PushClipRect({static_cast<float>(drawn.x), static_cast<float>(drawn.y)},
                            {static_cast<float>(drawn.x + drawn.width), static_cast<float>(drawn.y + drawn.height)});
        draw(*kept_, beyond);
        kept_->PopClipRect();
        kept_->PopTextureID();
        if (on_card) {
            picture_ = std::make_unique<CardPicture>(*kept_, drawn, subject.ground);
            kept_.reset();  // tens of megabytes on a large map
        }
        subject_ = subject;
        view_ = view;
        dx = dy = 0.0;
        ++times_drawn_;
        is_slow_ = std::chrono::steady_clock::now() - began > quick;
        if (is_slow_ && on_card) models::return_freed_memory();  // of thousands of fields a hundred megabytes
    }
    if (picture_) {
        // As it was drawn a place lay at c + (place - then) / scale then; now it lies at c + (place - now) / scale now.
        const double k = view_.metres_per_px / view.metres_per_px;
        const double cx = canvas.x + 0.5 * canvas.width, cy = canvas.y + 0.5 * canvas.height;
        picture_->stretched = k;
        picture_->moved_x = k == 1.0 ? std::round(dx) : cx * (1.0 - k) + dx;
        picture_->moved_y = k == 1.0 ? std::round(dy) : cy * (1.0 - k) + dy;
        list.AddCallback(CardPicture::copy, picture_.get());
        return;
    }
    // By whole pixels, so that letters stay sharp.
    copy_moved(*kept_, list, {static_cast<float>(std::round(dx)), static_cast<float>(std::round(dy))});
}

}  // namespace app::window
