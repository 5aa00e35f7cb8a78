#include "app/window/window.h"

#include <algorithm>
#include <atomic>
#include <chrono>
#include <cmath>
#include <cstdlib>
#include <memory>
#include <string>
#include <utility>

#include <GLFW/glfw3.h>
#include <backends/imgui_impl_glfw.h>
#include <backends/imgui_impl_opengl3.h>
#include <imgui.h>

#include "app/drawing/numbers.h"
#include "app/window/ears.h"
#include "app/window/font_texture.h"
#include "app/window/frame.h"
#include "app/window/frame_clock.h"
#include "app/window/last_state.h"
#include "app/window/offscreen.h"
#include "app/window/painted_frame.h"
#include "app/window/session.h"
#include "app/window/told_frame.h"
#include "models/error.h"
#include "models/memory.h"

namespace app::window {

namespace {

/// A Dear ImGui context that keeps nothing on disk.
class ImguiContext {
 public:
    ImguiContext() {
        IMGUI_CHECKVERSION();
        ImGui::CreateContext();
        ImGui::GetIO().IniFilename = nullptr;
        ImGui::GetIO().ConfigFlags |= ImGuiConfigFlags_NavEnableKeyboard;
        // A picture has no keys, but keyboard navigation wants to know where they would be. GLFW's back end says so
        // itself.
        for (int key = 0; key < ImGuiKey_COUNT; ++key) ImGui::GetIO().KeyMap[key] = key;
    }
    ~ImguiContext() { ImGui::DestroyContext(); }
    ImguiContext(const ImguiContext&) = delete;
    ImguiContext& operator=(const ImguiContext&) = delete;
};

void check_scale(const std::optional<double>& text_scale) {
    if (text_scale && !(*text_scale >= 0.75 && *text_scale <= 3.0)) {
        throw models::Error("a text scale of " + drawing::set_number_text(*text_scale) + " cannot be read",
                            "--text-scale", "choose 0.75 to 3");
    }
}

/// How often the store's files are looked at; an idle window wakes for nothing else.
constexpr std::chrono::milliseconds between_looks{1000};

/// How often it is looked whether the last state has to be written.
constexpr std::chrono::milliseconds between_keeps{200};

// What GLFW last complained of; its callback has no place for data of ours.
std::string last_complaint;
void on_complaint(int, const char* text) {
    last_complaint = text;
}

/// Frames still to be drawn. Input asks for a few, so that a press and its release are seen in different frames; with
/// nothing to do nothing is drawn and no processor time is used.
int frames_to_draw = 3;
void ask_for_frames() {
    frames_to_draw = 3;
}
void ask_for_a_frame() {
    frames_to_draw = std::max(frames_to_draw, 1);
}

/// Work beside the window has something to say; from its threads. One frame shows how far it is; what its end brings is
/// taken by `collect`, which asks for more.
std::atomic<bool> work_says{false};

/// What stood on the screen is not known to be there: it was covered, or is new.
bool screen_is_lost = false;

/// Presses and releases of keys and buttons, for who is told of frames.
std::size_t heard_so_far = 0;

/// GLFW names keys by their place on an American keyboard; ours go by the letter that is printed on them.
int key_of_letter(int key, int scancode) {
    if (key < GLFW_KEY_A || key > GLFW_KEY_Z) return key;
    const char* name = glfwGetKeyName(key, scancode);
    if (name == nullptr || name[0] < 'a' || name[0] > 'z' || name[1] != '\0') return key;
    return GLFW_KEY_A + (name[0] - 'a');
}

/// Who takes what is typed.
struct Typed {
    Keys& keys;
    LineEntry& line;
    KeyGate& gate;
    const Session& session;
    FrameClock& clock;
    std::string dropped = {};  ///< a file that was dragged onto the window
    bool at_bench() const { return session.room == Room::bench && nobody_is_choosing(); }
};

class GlfwWindow {
 public:
    explicit GlfwWindow(const WindowSettings& settings) {
        glfwSetErrorCallback(on_complaint);
        if (glfwInit() == GLFW_FALSE) {
            throw models::Error(
                "there is no display to open a window on (" + last_complaint + ")", "",
                "run it where a desktop is, or use --picture FILE.png, or the commands map, first, bins and "
                "report, which need none");
        }
        glfwWindowHint(GLFW_CONTEXT_VERSION_MAJOR, 3);
        glfwWindowHint(GLFW_CONTEXT_VERSION_MINOR, 3);
        glfwWindowHint(GLFW_OPENGL_PROFILE, GLFW_OPENGL_CORE_PROFILE);
        glfwWindowHint(GLFW_OPENGL_FORWARD_COMPAT, GLFW_TRUE);
        glfwWindowHint(GLFW_SCALE_TO_MONITOR, GLFW_TRUE);
        glfwWindowHint(GLFW_VISIBLE, GLFW_FALSE);
        const std::string title = "lodicule: " + settings.store.filename().string();
        window_ = glfwCreateWindow(settings.width, settings.height, title.c_str(), nullptr, nullptr);
        if (window_ == nullptr) {
            const std::string why = last_complaint;
            glfwTerminate();
            throw models::Error("the display has no OpenGL 3.3 (" + why + ")", "",
                                "set LIBGL_ALWAYS_SOFTWARE=1 to draw without the graphics card");
        }
        if (settings.fit_to_screen) fit_to_screen();
        glfwMakeContextCurrent(window_);
        glfwSwapInterval(1);
        // Before Dear ImGui installs its own, which call these.
        glfwSetMouseButtonCallback(window_, [](GLFWwindow*, int, int, int) {
            ++heard_so_far;
            ask_for_frames();
        });
        glfwSetCursorPosCallback(window_, [](GLFWwindow*, double, double) { ask_for_frames(); });
        glfwSetScrollCallback(window_, [](GLFWwindow*, double, double) { ask_for_frames(); });
        glfwSetCharCallback(window_, [](GLFWwindow* of, unsigned code_point) {
            if (const auto* typed = static_cast<Typed*>(glfwGetWindowUserPointer(of))) {
                typed->gate.letter(code_point);
                if (typed->at_bench()) typed->line.letter(code_point, LineEntry::Clock::now());
            }
            ask_for_frames();
        });
        glfwSetDropCallback(window_, [](GLFWwindow* of, int count, const char** paths) {
            if (auto* typed = static_cast<Typed*>(glfwGetWindowUserPointer(of)); typed != nullptr && count > 0)
                typed->dropped = paths[0];
            ask_for_frames();
        });
        glfwSetCursorEnterCallback(window_, [](GLFWwindow*, int) { ask_for_frames(); });
        glfwSetWindowFocusCallback(window_, [](GLFWwindow*, int) { ask_for_frames(); });
        glfwSetWindowRefreshCallback(window_, [](GLFWwindow*) {
            screen_is_lost = true;
            ask_for_frames();
        });
        glfwSetFramebufferSizeCallback(window_, [](GLFWwindow*, int, int) { ask_for_frames(); });
    }
    ~GlfwWindow() {
        glfwDestroyWindow(window_);
        glfwTerminate();
    }
    GlfwWindow(const GlfwWindow&) = delete;
    GlfwWindow& operator=(const GlfwWindow&) = delete;

    GLFWwindow* get() const { return window_; }
    void show() { glfwShowWindow(window_); }
    /// As the window manager counts it; that of an iconified window is not to come back.
    int width() const { return size().first; }
    int height() const { return size().second; }
    /// The keys go to ours, not to Dear ImGui's own callback, which loses those that are typed between two frames.
    void give_keys_to(Typed& typed_keys) {
        glfwSetWindowUserPointer(window_, &typed_keys);
        glfwSetKeyCallback(window_, [](GLFWwindow* of, int position, int scancode, int action, int mods) {
            const int key = key_of_letter(position, scancode);
            if (key == GLFW_KEY_Q && action == GLFW_PRESS && (mods & GLFW_MOD_CONTROL) != 0)
                glfwSetWindowShouldClose(of, GLFW_TRUE);
            auto& typed = *static_cast<Typed*>(glfwGetWindowUserPointer(of));
            if (action != GLFW_REPEAT) ++heard_so_far;
            if (action != GLFW_RELEASE) typed.clock.key_came(key);
            if (action == GLFW_RELEASE)
                typed.gate.released(key);
            else if (action == GLFW_PRESS)
                typed.gate.pressed(key);
            else
                typed.keys.pressed_now(key);
            if (action != GLFW_RELEASE && typed.at_bench()) {
                if (key == GLFW_KEY_ENTER || key == GLFW_KEY_KP_ENTER) typed.line.enter(LineEntry::Clock::now());
                if (key == GLFW_KEY_BACKSPACE) typed.line.erase_last();
                if (key == GLFW_KEY_ESCAPE) typed.line.clear();
            }
            ask_for_frames();
        });
    }
    /// Of text: what the user says times what the monitor asks for; else the larger of what the monitor asks for and
    /// what suits so many pixels, since many a fine screen says nothing of itself.
    double scale(const std::optional<double>& text_scale) const {
        float x = 1.0F, y = 1.0F;
        glfwGetWindowContentScale(window_, &x, &y);
        const double asked = static_cast<double>(std::max(x, y));
        if (text_scale) return asked * *text_scale;
        int width = 0, height = 0;
        glfwGetFramebufferSize(window_, &width, &height);
        return std::max(asked, text_scale_for(width, height));
    }

 private:
    std::pair<int, int> size() const {
        int width = 0, height = 0;
        glfwGetWindowSize(window_, &width, &height);
        return {width, height};
    }
    void fit_to_screen() {
        GLFWmonitor* monitor = glfwGetPrimaryMonitor();
        if (monitor == nullptr) return;
        int left = 0, top = 0, wide = 0, high = 0, width = 0, height = 0;
        glfwGetMonitorWorkarea(monitor, &left, &top, &wide, &high);
        glfwGetWindowSize(window_, &width, &height);
        if (wide <= 0 || high <= 0) return;
        // The frame is not known before the window is on the screen; a title bar is about that high.
        const int title = static_cast<int>(2.0 * usual_text_px);
        if (width <= wide && height <= high - title) return;
        glfwSetWindowSize(window_, std::min(width, wide), std::min(height, high - title));
        glfwSetWindowPos(window_, left + std::max(0, (wide - width) / 2), top + title);
    }

    GLFWwindow* window_ = nullptr;
};

void wake_window() {
    work_says = true;
    glfwPostEmptyEvent();
}

/// The paper below everything. Cleared rather than drawn: without a graphics card every drawn pixel costs time.
void clear_to(const drawing::Colour& paper) {
    glClearColor(static_cast<float>(paper.red) / 255.0F, static_cast<float>(paper.green) / 255.0F,
                 static_cast<float>(paper.blue) / 255.0F, 1.0F);
    glClear(GL_COLOR_BUFFER_BIT);
}

void use_scale(Brushes& brushes, double scale) {
    brushes.fonts.bake(usual_text_px * scale);
    set_style(brushes);
}

/// The same while a window is open.
void use_scale_anew(Brushes& brushes, FontTexture& letters, double scale) {
    use_scale(brushes, scale);
    letters.make();
}

/// When what was freed goes back to the system: once nothing works and nobody presses, moves or draws, and then before
/// a frame that nobody waits for, which asks for what it needs again.
class Rest {
 public:
    void busy() { much_was_freed_ = true; }
    void drew(std::chrono::steady_clock::time_point now) { last_drawn_ = now; }
    bool begins(std::chrono::steady_clock::time_point now) {
        return much_was_freed_ && now - last_drawn_ >= until_at_rest && !(much_was_freed_ = false);
    }

 private:
    static constexpr std::chrono::milliseconds until_at_rest{1000};
    bool much_was_freed_ = false;
    std::chrono::steady_clock::time_point last_drawn_{};
};

}  // namespace

void run_window(const WindowSettings& settings) {
    FrameClock clock;
    // A frame takes and gives back the same few megabytes, which are kept; not what a fit needs once.
    models::keep_less_freed_memory();
    check_scale(settings.text_scale);
    const std::filesystem::path state_file = state_file_of(settings.store);
    const std::optional<LastState> last = settings.fresh ? std::nullopt : read_last_state(state_file, settings.store);
    WindowSettings sized = settings;
    if (last && last->width > 0 && !settings.size_is_said) {
        sized.width = last->width;
        sized.height = last->height;
    }
    GlfwWindow window(sized);
    const ImguiContext context;
    ImGui_ImplGlfw_InitForOpenGL(window.get(), true);
    if (!ImGui_ImplOpenGL3_Init("#version 150")) {
        throw models::Error("the display's OpenGL is too old: 3.3 is needed", "",
                            "set LIBGL_ALWAYS_SOFTWARE=1 to draw without the graphics card");
    }
    {
        Brushes brushes;
        brushes.textures.enable();
        const std::unique_ptr<Session> session = open_session(settings, wake_window, last);
        double scale = window.scale(session->text_scale);
        use_scale(brushes, scale);
        FontTexture letters;
        window.show();  // not before what was asked for is known to be there
        Views views;
        views.map_scene.take_time();
        if (last) bring_back(views, *last);
        StateKeeper keeper(state_file, settings.store);
        Typed typed{views.keys, views.line, views.gate, *session, clock};
        window.give_keys_to(typed);
        Places places;
        FrameTeller teller;
        if (teller.wanted()) places.note_texts();
        std::size_t frames = 0;
        int maps_drawn = 0;
        Rest rest;
        PaintedFrame painted;
        Ears ears(views.gate, views.keys, clock);
        auto last_look = ears.heard(), last_keep = last_look;
        std::string typed_line = views.line.text();
        bool key_went_first = false;
        while (glfwWindowShouldClose(window.get()) == GLFW_FALSE) {
            if (glfwGetWindowAttrib(window.get(), GLFW_ICONIFIED) == GLFW_TRUE) {
                ears.wait();
            } else if (views.gate.holds_back()) {
                // Until just then, and not so long again after each release of a key: somebody waits.
                ears.wait(views.gate.known_in(KeyGate::Clock::now()));
            } else if (frames_to_draw > 0 || views.keys.any_waiting() || views.map_scene.is_drawing()) {
                ears.look();
            } else if (views.gate.waits_for_a_key()) {
                ears.wait(KeyGate::as_a_scanner);
                // A key that is held is seen to be.
                if (session->pit.asks) ask_for_a_frame();
            } else if (views.map_scene.is_behind()) {
                // Drawn anew as soon as the hand rests.
                ears.wait(std::chrono::milliseconds(50));
                ask_for_a_frame();
            } else if (session->working || session->backdrop.reading || clock_runs(*session)) {
                // A clock that runs (seconds left, a strip) is redrawn twice a second.
                ears.wait(std::chrono::milliseconds(500));
                ask_for_a_frame();
            } else {
                ears.wait(between_looks);
            }
            const auto heard = ears.heard();
            if (views.gate.holds_back()) continue;
            // A key goes first, but for once: what it is answered by is what stood on the screen when it was pressed.
            const bool key_goes_first = views.keys.any_waiting() && !key_went_first;
            key_went_first = key_goes_first;
            if (work_says.exchange(false)) ask_for_a_frame();
            if (views.keys.any_waiting()) ask_for_frames();
            if (!key_goes_first) {
                if (heard - last_look >= between_looks) {
                    last_look = heard;
                    clock.is_at("the store");
                    if (look_at_store(*session, nobody_is_choosing())) ask_for_frames();
                }
                if (const std::string file = std::exchange(typed.dropped, {}); !file.empty())
                    apply(*session, BehindTheMap{ChooseBackdrop{file}});
                clock.is_at("finished work");
                if (collect(*session)) ask_for_frames();
                clock.is_at("the map");
                // Between any two frames, so that it becomes whole however many come.
                if (!views.keys.any_waiting() && views.map_scene.go_on()) ask_for_a_frame();
                // What is typed at once; where the map stands not while it moves.
                if (typed_line != views.line.text() || heard - last_keep >= between_keeps) {
                    typed_line = views.line.text();
                    last_keep = heard;
                    clock.is_at("the state file");
                    keeper.keep(state_of(*session, views, window.width(), window.height()));
                }
            }
            if (!nothing_works(*session) || session->backdrop.reading || views.map_scene.is_drawing()) rest.busy();
            if (frames_to_draw <= 0 && rest.begins(heard)) {
                clock.is_at("freed memory");
                models::return_freed_memory();
                ask_for_a_frame();
            }
            if (frames_to_draw <= 0) continue;
            // A key that came meanwhile is answered by this frame, and waits for none before it.
            ears.look();
            if (views.gate.holds_back()) continue;
            --frames_to_draw;
            rest.drew(heard);
            if (const double now = window.scale(session->text_scale);
                now != scale || brushes.fonts.is_missing_letters()) {
                scale = now;
                views.map_scene.forget();
                use_scale_anew(brushes, letters, scale);
                painted.forget();
            }
            clock.begin();
            ImGui_ImplOpenGL3_NewFrame();
            ImGui::GetIO().Fonts->ClearTexData();  // it is on the card now, and tens of megabytes
            ImGui_ImplGlfw_NewFrame();
            take_keys(views);
            ImGui::NewFrame();
            const bool zooming = ImGui::GetIO().MouseWheel != 0.0F;
            const std::vector<Action> actions = draw_frame(*session, views, brushes, places);
            ImGui::Render();
            clock.laid_out();
            brushes.fonts.look_for_missing(*ImGui::GetDrawData());
            if (brushes.fonts.is_missing_letters()) ask_for_frames();
            int width = 0, height = 0;
            glfwGetFramebufferSize(window.get(), &width, &height);
            if (std::exchange(screen_is_lost, false)) painted.forget();
            const bool looks_different = !painted.stands_there(
                *ImGui::GetDrawData(),
                {width, height, brushes.theme.paper, views.map_scene.looks(), brushes.textures.made()});
            if (looks_different) {
                glViewport(0, 0, width, height);
                clear_to(brushes.theme.paper);
                ImGui_ImplOpenGL3_RenderDrawData(ImGui::GetDrawData());
                ears.look();
                clock.is_at("a frame's way to the screen");
                glfwSwapBuffers(window.get());
            }
            clock.end({views.dragging, zooming, session->answer != nullptr,
                       session->working || ground_works(session->ground) || session->ahead, views.keys.any_in_frame(),
                       looks_different, room_word(session->room)});
            if (const auto& scene = views.map_scene; std::exchange(maps_drawn, scene.times_drawn()) != maps_drawn)
                clock.drew_map(scene.taken().whole_s, scene.taken().processor_s, scene.taken().longest_s);
            clock.is_at("what was chosen");
            for (const Action& action : actions) {
                apply(*session, action);
                ask_for_frames();
            }
            const bool settled = frames_to_draw <= 0 && !views.map_scene.is_drawing() && !views.keys.any_waiting() &&
                                 nothing_works(*session);
            teller.tell({++frames, heard_so_far, settled}, *session, places);
        }
        keeper.keep(state_of(*session, views, window.width(), window.height()));
    }
    ImGui_ImplOpenGL3_Shutdown();
    ImGui_ImplGlfw_Shutdown();
}

double text_scale_for(int width, int height) {
    const double share = std::min(width / 1920.0, height / 1080.0);
    return std::clamp(std::floor(share * 4.0) / 4.0, 1.0, 3.0);
}

void save_picture(const WindowSettings& settings, const std::filesystem::path& png) {
    check_scale(settings.text_scale);
    if (png.extension() != ".png") {
        throw models::Error("the window is not drawn as \"" + png.extension().string() + "\"", png.string(),
                            "end the name in .png");
    }
    if (settings.width < 320 || settings.height < 240 || settings.width > 16384 || settings.height > 16384) {
        throw models::Error("a picture of " + std::to_string(settings.width) + " x " + std::to_string(settings.height) +
                                " pixels cannot be drawn",
                            "--width, --height", "choose 320 x 240 to 16384 x 16384");
    }
    const std::unique_ptr<Session> session = open_session(settings, {});
    if (session->room == Room::bench) {
        const models::Stamp moment = newest_at_bench(geo::Store::open(settings.store, geo::Store::Access::read_only));
        session->clock = [moment] { return moment; };
        collect(*session);
    }
    if (session->room == Room::bins) {
        const models::Stamp moment = newest_at_pit(settings.store);
        session->clock = [moment] { return moment; };
    }
    finish_work(*session);
    if (!session->problem.empty()) throw models::Error(session->problem);
    if (!session->backdrop.problem.empty()) throw models::Error(session->backdrop.problem);
    Offscreen screen(settings.width, settings.height);
    const ImguiContext context;
    if (!ImGui_ImplOpenGL3_Init("#version 150")) throw models::Error("OpenGL 3.3 is needed to draw the picture");
    {
        Brushes brushes;
        brushes.textures.enable();
        const double scale = settings.text_scale.value_or(text_scale_for(settings.width, settings.height));
        use_scale(brushes, scale);
        FontTexture letters;
        Views views;
        Places places;
        ImGuiIO& io = ImGui::GetIO();
        io.DisplaySize = {static_cast<float>(settings.width), static_cast<float>(settings.height)};
        // Tables and fitted maps need a few frames to settle.
        for (int frame = 0; frame < 4; ++frame) {
            if (brushes.fonts.is_missing_letters()) {
                views.map_scene.forget();
                use_scale_anew(brushes, letters, scale);
            }
            io.DeltaTime = 1.0F / 60.0F;
            io.MousePos = {-1e6F, -1e6F};
            ImGui_ImplOpenGL3_NewFrame();
            ImGui::NewFrame();
            for (const Action& action : draw_frame(*session, views, brushes, places)) {
                // Nobody asks for anything but a finer picture behind a map that stands near by.
                if (!std::holds_alternative<BehindTheMap>(action)) continue;
                apply(*session, action);
                finish_work(*session);
            }
            ImGui::Render();
            brushes.fonts.look_for_missing(*ImGui::GetDrawData());
            screen.begin_picture();
            clear_to(brushes.theme.paper);
            ImGui_ImplOpenGL3_RenderDrawData(ImGui::GetDrawData());
        }
        screen.save_png(png);
    }
    ImGui_ImplOpenGL3_Shutdown();
}

}  // namespace app::window
