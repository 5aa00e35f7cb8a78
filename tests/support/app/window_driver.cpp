#include "tests/support/app/window_driver.h"

#include <cstdlib>
#include <stdexcept>
#include <thread>

#include <imgui.h>

namespace tests {

using namespace app::window;

std::filesystem::path demo_store() {
    const std::filesystem::path folder = LODICULE_DEMO_DIR;
    const std::filesystem::path store = folder / "demo.lodicule";
    if (!std::filesystem::exists(store)) {
        std::filesystem::remove_all(folder);
        const std::string command =
            std::string("\"") + LODICULE_PROGRAM + "\" demo \"" + folder.string() + "\" > /dev/null";
        if (std::system(command.c_str()) != 0) throw std::runtime_error("the demo store could not be made");
    }
    return store;
}

WindowDriver::WindowDriver(const WindowSettings& settings, const std::optional<LastState>& last) {
    IMGUI_CHECKVERSION();
    ImGui::CreateContext();
    ImGuiIO& io = ImGui::GetIO();
    io.IniFilename = nullptr;
    io.ConfigInputTextCursorBlink = false;
    io.ConfigFlags |= ImGuiConfigFlags_NavEnableKeyboard;
    for (int key = 0; key < ImGuiKey_COUNT; ++key) io.KeyMap[key] = 300 + key;
    io.DisplaySize = {static_cast<float>(settings.width), static_cast<float>(settings.height)};
    io.DeltaTime = 1.0F / 60.0F;
    io.MousePos = {-1e6F, -1e6F};
    bake(16.0 * settings.text_scale.value_or(1.0));
    set_style(brushes);
    session = open_session(settings, {}, last);
    if (last) bring_back(views, *last);
}

void WindowDriver::bake(double text_px) {
    brushes.fonts.bake(text_px);
    unsigned char* pixels = nullptr;
    int width = 0, height = 0;
    ImGui::GetIO().Fonts->GetTexDataAsRGBA32(&pixels, &width, &height);
}

WindowDriver::~WindowDriver() {
    ImGui::DestroyContext();
}

void WindowDriver::frames(int count) {
    for (int i = 0; i < count; ++i) {
        collect(*session);
        take_keys(views);
        ImGui::NewFrame();
        const std::vector<Action> actions = draw_frame(*session, views, brushes, places);
        ImGui::Render();
        vertices = ImGui::GetDrawData()->TotalVtxCount;
        brushes.fonts.look_for_missing(*ImGui::GetDrawData());
        if (brushes.fonts.is_missing_letters()) bake(brushes.fonts.text_px());
        for (const Action& action : actions) apply(*session, action);
        ImGui::GetIO().MouseWheel = 0.0F;
    }
}

void WindowDriver::settle() {
    do {
        finish_work(*session);
        frames(3);
    } while (session->working || session->fetching_hours || pit_works(*session));
}

void WindowDriver::point(double x, double y) {
    ImGui::GetIO().MousePos = {static_cast<float>(x), static_cast<float>(y)};
}

void WindowDriver::point_at(const std::string& place) {
    const app::drawing::Rect* rect = places.find(place);
    if (rect == nullptr) throw std::runtime_error("nothing named \"" + place + "\" is on the screen");
    point(rect->x + rect->width / 2.0, rect->y + rect->height / 2.0);
    frames(2);
}

void WindowDriver::click(const std::string& place) {
    point_at(place);
    ImGui::GetIO().MouseDown[0] = true;
    frames(1);
    ImGui::GetIO().MouseDown[0] = false;
    frames(3);  // a popup needs two more frames before its lines have a place
}

void WindowDriver::drag(const std::string& place, double dx, double dy) {
    point_at(place);
    ImGuiIO& io = ImGui::GetIO();
    const ImVec2 from = io.MousePos;
    io.MouseDown[0] = true;
    frames(2);
    for (int step = 1; step <= 4; ++step) {
        point(static_cast<double>(from.x) + dx * step / 4.0, static_cast<double>(from.y) + dy * step / 4.0);
        frames(1);
    }
    frames(1);
    io.MouseDown[0] = false;
    frames(2);
}

void WindowDriver::wheel(const std::string& place, double turns) {
    point_at(place);
    ImGui::GetIO().MouseWheel = static_cast<float>(turns);
    frames(2);
}

void WindowDriver::press(int key) {
    views.keys.pressed_now(key);
    frames(1);
    views.keys.released_now(key);
    frames(2);
}

void WindowDriver::type_at_once(const std::vector<int>& keys) {
    for (const int key : keys) {
        views.keys.pressed_now(key);
        views.keys.released_now(key);
    }
    do {
        frames(1);
    } while (views.keys.any_waiting());
}

void WindowDriver::line(const std::string& words, bool scanned) {
    LineEntry::Clock::time_point when{};
    for (const char letter : words) {
        views.line.letter(static_cast<unsigned char>(letter), when);
        when += std::chrono::milliseconds(scanned ? 5 : 120);
    }
    views.line.enter(when + std::chrono::milliseconds(scanned ? 0 : 120));
    frames(3);
}

void WindowDriver::wait(std::chrono::milliseconds time) {
    now_ += time;
    views.gate.heard(now_, KeyGate::Clock::duration::zero(), views.keys);
    frames(1);
}

void WindowDriver::scan(const std::string& code, int last) {
    using std::chrono::milliseconds;
    for (const char letter : code) {
        const int key = letter >= 'a' && letter <= 'z' ? letter - 'a' + 'A' : letter;
        views.gate.pressed(key);
        views.gate.letter(static_cast<unsigned char>(letter));
        views.gate.released(key);
        wait(milliseconds(5));
    }
    if (last != 0) {
        views.gate.pressed(last);
        views.gate.released(last);
        wait(milliseconds(5));
    }
    wait(milliseconds(200));
    while (views.keys.any_waiting()) frames(1);
    frames(2);
}

void WindowDriver::hold(int key, std::chrono::milliseconds time) {
    using std::chrono::milliseconds;
    views.gate.pressed(key);
    for (milliseconds held{0}; held < time; held += milliseconds(50)) wait(milliseconds(50));
    views.gate.released(key);
    wait(milliseconds(200));
    frames(2);
}

void WindowDriver::write(const std::string& words) {
    ImGui::GetIO().AddInputCharactersUTF8(words.c_str());
    frames(2);
}

}  // namespace tests
