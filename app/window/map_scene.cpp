#include "app/window/map_scene.h"

#include <algorithm>
#include <chrono>
#include <cmath>
#include <ctime>
#include <string_view>
#include <tuple>
#include <utility>

#include <GL/gl.h>
#include <GL/glext.h>
#include <backends/imgui_impl_opengl3.h>
#include <imgui.h>

#include "app/drawing/chart.h"
#include "app/window/turns.h"
#include "models/memory.h"

namespace app::window {

namespace {

using drawing::Rect;

/// How far beyond the canvas the map is kept, as a share of the canvas' longer side.
constexpr double share_beyond = 0.25;

/// A map that takes longer is not drawn anew while the hand moves it, nor at once for a field that is chosen.
constexpr std::chrono::milliseconds quick{20};

/// How long it is drawn at a time, where keys may wait for it.
constexpr std::chrono::milliseconds at_a_time{4};

/// So many corners are drawn at once: a list of them all would be tens of megabytes on a large map, here and in the
/// driver.
constexpr int most_corners = 1 << 12;

double processor_used_s() {
    std::timespec used{};
    clock_gettime(CLOCK_PROCESS_CPUTIME_ID, &used);
    return static_cast<double>(used.tv_sec) + 1e-9 * static_cast<double>(used.tv_nsec);
}

/// Whether a picture's rows can lie as those of the screen do, the highest first. Without a graphics card a picture of
/// the same order of rows and of bytes is copied into the frame; else the driver looks up every pixel of it, for half
/// of what the frame takes.
/// Source: the extension MESA_framebuffer_flip_y, https://registry.khronos.org/OpenGL/extensions/MESA/
bool rows_can_lie_as_on_screen() {
    GLint major = 0, minor = 0, known = 0;
    glGetIntegerv(GL_MAJOR_VERSION, &major);
    glGetIntegerv(GL_MINOR_VERSION, &minor);
    if (10 * major + minor < 43) return false;  // the call is of OpenGL 4.3
    glGetIntegerv(GL_NUM_EXTENSIONS, &known);
    for (GLuint i = 0; i < static_cast<GLuint>(known); ++i)
        if (std::string_view(reinterpret_cast<const char*>(glGetStringi(GL_EXTENSIONS, i))) ==
            "GL_MESA_framebuffer_flip_y")
            return true;
    return false;
}

/// Takes all out of a list, but what it is clipped to.
void empty_list(ImDrawList& list) {
    list.CmdBuffer.resize(0);
    list.IdxBuffer.resize(0);
    list.VtxBuffer.resize(0);
    list._IdxWritePtr = list.IdxBuffer.Data;
    list._VtxWritePtr = list.VtxBuffer.Data;
    list._VtxCurrentIdx = 0;
    list._CmdHeader.VtxOffset = 0;
    list.AddDrawCmd();
}

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

void draw_within(ImDrawList& list, const Rect& drawn, const std::function<void()>& draw) {
    list.PushTextureID(ImGui::GetIO().Fonts->TexID);
    list.PushClipRect({static_cast<float>(drawn.x), static_cast<float>(drawn.y)},
                      {static_cast<float>(drawn.x + drawn.width), static_cast<float>(drawn.y + drawn.height)});
    draw();
    list.PopClipRect();
    list.PopTextureID();
}

}  // namespace

/// A picture of what is kept, on the graphics card, copied from there into each frame.
struct MapScene::CardPicture {
    GLuint frame = 0, colour = 0;
    Rect area;           ///< of the screen, before it is moved
    ImVec2 scale{1, 1};  ///< pixels of the picture to a unit of the screen

    explicit CardPicture(const Rect& shown) : area(shown), scale(ImGui::GetIO().DisplayFramebufferScale) {
        GLint texture_before = 0;
        glGetIntegerv(GL_TEXTURE_BINDING_2D, &texture_before);
        glGenTextures(1, &colour);
        glBindTexture(GL_TEXTURE_2D, colour);
        // The order of bytes that screens have, which a driver chooses where the size of a channel is left to it.
        glTexImage2D(GL_TEXTURE_2D, 0, GL_RGBA, px(area.width, scale.x), px(area.height, scale.y), 0, GL_BGRA,
                     GL_UNSIGNED_BYTE, nullptr);
        glTexParameteri(GL_TEXTURE_2D, GL_TEXTURE_MIN_FILTER, GL_NEAREST);
        glTexParameteri(GL_TEXTURE_2D, GL_TEXTURE_MAG_FILTER, GL_NEAREST);
        glBindTexture(GL_TEXTURE_2D, static_cast<GLuint>(texture_before));
        glGenFramebuffers(1, &frame);
        draw_into([&] {
            glFramebufferTexture2D(GL_FRAMEBUFFER, GL_COLOR_ATTACHMENT0, GL_TEXTURE_2D, colour, 0);
            if (rows_can_lie_as_on_screen())
                glFramebufferParameteri(GL_FRAMEBUFFER, GL_FRAMEBUFFER_FLIP_Y_MESA, GL_TRUE);
        });
    }
    /// Whether so much of the screen fits on it, neither more nor less.
    bool has_room_for(const Rect& shown) const {
        const ImVec2 now = ImGui::GetIO().DisplayFramebufferScale;
        return px(area.width, scale.x) == px(shown.width, now.x) && px(area.height, scale.y) == px(shown.height, now.y);
    }
    void begin(const Rect& shown, const drawing::Colour& ground) {
        area = shown;
        scale = ImGui::GetIO().DisplayFramebufferScale;
        draw_into([&] {
            const auto channel = [](std::uint8_t c) { return static_cast<float>(c) / 255.0F; };
            glDisable(GL_SCISSOR_TEST);
            glClearColor(channel(ground.red), channel(ground.green), channel(ground.blue), 1.0F);
            glClear(GL_COLOR_BUFFER_BIT);
        });
    }
    /// Draws what is in the list over what is there.
    void draw(ImDrawList& list) {
        draw_into([&] {
            if (glCheckFramebufferStatus(GL_FRAMEBUFFER) != GL_FRAMEBUFFER_COMPLETE) return;
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
            glFlush();  // else the driver gathers much before it paints, and lets a later part wait for all of it
        });
    }
    void draw_into(const std::function<void()>& deed) {
        GLint frame_before = 0;
        glGetIntegerv(GL_DRAW_FRAMEBUFFER_BINDING, &frame_before);
        glBindFramebuffer(GL_FRAMEBUFFER, frame);
        deed();
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

/// A map that is being drawn onto the card.
struct MapScene::Drawing {
    Subject subject;
    drawing::MapView view;
    std::function<void(const ImDrawList&)> look_at;
    std::unique_ptr<CardPicture> picture;
    ImDrawList list{ImGui::GetDrawListSharedData()};
    std::chrono::steady_clock::time_point began = std::chrono::steady_clock::now();
    double processor_began_s = processor_used_s(), worked_s = 0.0, longest_s = 0.0;
    Turns turns;

    Drawing(const Subject& of, const drawing::MapView& at, const Rect& drawn, double beyond_px, const Drawer& drawer,
            std::unique_ptr<CardPicture> onto, ImDrawListFlags flags)
        : subject(of),
          view(at),
          look_at(drawer.look_at),
          picture(std::move(onto)),
          turns([this, drawn, beyond_px, draw = drawer.draw](Turns& own) {
              // Finished at once, so that the clock of the turns counts the painting, too.
              const std::function<void()> to_card = [this] {
                  put_on_card();
                  glFinish();
              };
              draw_within(list, drawn, [&] {
                  draw({list, beyond_px,
                        [&] {
                            if (list.VtxBuffer.Size >= most_corners) own.outside(to_card);
                            own.breathe();
                        },
                        [this, &own](const std::function<void()>& deed) {
                            own.outside([&] {
                                put_on_card();
                                glFinish();  // else all of it is painted at the end, however little is drawn at a time
                                deed();
                            });
                        }});
              });
              own.outside(to_card);
          }) {
        list._ResetForNewFrame();
        list.Flags = flags;
    }

    void put_on_card() {
        if (list.VtxBuffer.Size == 0) return;
        look_at(list);
        picture->draw(list);
        empty_list(list);
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

void MapScene::put_aside(std::unique_ptr<CardPicture> picture) {
    if (picture) spare_ = std::move(picture);
}

void MapScene::give_up_drawing() {
    if (const auto given_up = std::exchange(drawing_, nullptr)) put_aside(std::move(given_up->picture));
}

void MapScene::forget() {
    subject_.reset();
    put_aside(std::move(picture_));
    give_up_drawing();
    ++looks_;
}

bool MapScene::go_on() {
    return drawing_ && draw_on(at_a_time);
}

bool MapScene::draw_on(std::chrono::nanoseconds about) {
    const auto from = std::chrono::steady_clock::now();
    const bool whole = drawing_->turns.go_on(about);
    glFinish();  // without a graphics card this thread's processor paints, too
    const auto now = std::chrono::steady_clock::now();
    const auto seconds = [](auto between) { return std::chrono::duration<double>(between).count(); };
    drawing_->worked_s += seconds(now - from);
    drawing_->longest_s = std::max(drawing_->longest_s, seconds(now - from));
    if (!whole) return false;
    ++looks_;
    const auto done = std::exchange(drawing_, nullptr);
    put_aside(std::exchange(picture_, std::move(done->picture)));
    subject_ = done->subject;
    view_ = done->view;
    is_slow_ = done->worked_s > seconds(quick);
    taken_ = {seconds(now - done->began), processor_used_s() - done->processor_began_s, done->longest_s};
    ++times_drawn_;
    return true;
}

void MapScene::show(ImDrawList& list, const Subject& subject, const drawing::MapView& view, const Moves& moves,
                    bool on_card, const Drawer& drawer) {
    const Rect& canvas = subject.canvas;
    const double beyond = std::ceil(share_beyond * std::max(canvas.width, canvas.height));
    const Rect drawn = drawing::inset(canvas, -beyond);
    // How far the map has moved since it was drawn in a view of the same scale, in pixels.
    const auto moved_from = [&](const drawing::MapView& then) {
        return drawing::Point{(then.centre_m.x_m - view.centre_m.x_m) / view.metres_per_px,
                              (view.centre_m.y_m - then.centre_m.y_m) / view.metres_per_px};
    };
    const double reach = moves.held ? beyond - 1.0 : 0.0;
    const auto fits = [&](const Subject& of, const drawing::MapView& then) {
        const drawing::Point by = moved_from(then);
        return of == subject && then.metres_per_px == view.metres_per_px && std::abs(by.x) <= reach &&
               std::abs(by.y) <= reach;
    };
    if (!on_card) {
        if (!kept_ || !subject_ || !fits(*subject_, view_)) draw_list(list, subject, view, drawn, beyond, drawer);
        // By whole pixels, so that letters stay sharp.
        const drawing::Point by = moved_from(view_);
        copy_moved(*kept_, list, {static_cast<float>(std::round(by.x)), static_cast<float>(std::round(by.y))});
        return;
    }
    // What matters less than that keys and hand are answered: which field's name goes first, and how pale the picture
    // is behind the map.
    const auto is_alike = [&](Subject one) {
        one.selected = subject.selected;
        one.behind_strength = subject.behind_strength;
        return one == subject;
    };
    const auto is_to_be = [&](const Drawing& one) {
        Subject of = one.subject;
        of.behind_strength = subject.behind_strength;  // else it would never be whole while that is being dragged
        return fits(of, one.view);
    };
    if (picture_ && !(subject_ && is_alike(*subject_))) put_aside(std::move(picture_));
    const bool kept_fits = picture_ && fits(*subject_, view_);
    if (drawing_ && (kept_fits || !is_to_be(*drawing_))) give_up_drawing();
    const bool is_stretched = picture_ && view_.metres_per_px != view.metres_per_px;
    is_behind_ =
        !kept_fits && !drawing_ && picture_ && moves.lately && (is_slow_ || (*subject_ == subject && is_stretched));
    if (!kept_fits && !drawing_ && !is_behind_) {
        auto onto = std::move(spare_);
        if (!onto || !onto->has_room_for(drawn)) onto = std::make_unique<CardPicture>(drawn);
        onto->begin(drawn, subject.ground);
        drawing_ = std::make_unique<Drawing>(subject, view, drawn, beyond, drawer, std::move(onto), list.Flags);
        // One that is likely to be quick is whole within this frame, unless it is not.
        if (!takes_time_)
            draw_on(std::chrono::nanoseconds::max());
        else if (!is_slow_)
            draw_on(at_a_time);
    }
    const bool shows_parts = !picture_;
    if (shows_parts) drawing_->put_on_card();
    CardPicture& picture = shows_parts ? *drawing_->picture : *picture_;
    // As it was drawn a place lay at c + (place - then) / scale then; now it lies at c + (place - now) / scale now.
    const drawing::MapView& then = shows_parts ? drawing_->view : view_;
    const drawing::Point by = moved_from(then);
    const double k = then.metres_per_px / view.metres_per_px;
    const double cx = canvas.x + 0.5 * canvas.width, cy = canvas.y + 0.5 * canvas.height;
    const double x = k == 1.0 ? std::round(by.x) : cx * (1.0 - k) + by.x;
    const double y = k == 1.0 ? std::round(by.y) : cy * (1.0 - k) + by.y;
    if (shows_parts || std::tie(picture.stretched, picture.moved_x, picture.moved_y) != std::tie(k, x, y)) ++looks_;
    picture.stretched = k;
    picture.moved_x = x;
    picture.moved_y = y;
    list.AddCallback(CardPicture::copy, &picture);
}

void MapScene::draw_list(const ImDrawList& like, const Subject& subject, const drawing::MapView& view,
                         const drawing::Rect& drawn, double beyond_px, const Drawer& drawer) {
    kept_ = std::make_unique<ImDrawList>(ImGui::GetDrawListSharedData());
    kept_->_ResetForNewFrame();
    kept_->Flags = like.Flags;
    const auto at_once = [](const std::function<void()>& deed) { deed(); };
    draw_within(*kept_, drawn, [&] { drawer.draw({*kept_, beyond_px, [] {}, at_once}); });
    drawer.look_at(*kept_);
    subject_ = subject;
    view_ = view;
    ++times_drawn_;
}

}  // namespace app::window
