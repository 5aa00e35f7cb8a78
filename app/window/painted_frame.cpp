#include "app/window/painted_frame.h"

#include <type_traits>
#include <utility>

#include <imgui.h>

namespace app::window {

void PaintedFrame::put(const void* bytes, std::size_t count) {
    const auto* from = static_cast<const std::byte*>(bytes);
    now_.insert(now_.end(), from, from + count);
}

bool PaintedFrame::stands_there(const ImDrawData& frame, const Beside& beside) {
    now_.clear();
    const auto put_value = [this](const auto& value) {
        static_assert(std::is_trivially_copyable_v<std::remove_cvref_t<decltype(value)>>);
        put(&value, sizeof value);
    };
    // A buffer with how long it is, so that none can be taken for the end of the one before it.
    const auto put_all = [&](const auto& buffer) {
        put_value(buffer.Size);
        put(buffer.Data, static_cast<std::size_t>(buffer.size_in_bytes()));
    };
    put_value(beside.width);
    put_value(beside.height);
    for (const auto channel : {beside.paper.red, beside.paper.green, beside.paper.blue}) put_value(channel);
    put_value(beside.map_looks);
    put_value(beside.textures_made);
    put_value(frame.DisplayPos);
    put_value(frame.DisplaySize);
    put_value(frame.FramebufferScale);
    for (int i = 0; i < frame.CmdListsCount; ++i) {
        put_all(frame.CmdLists[i]->CmdBuffer);
        put_all(frame.CmdLists[i]->IdxBuffer);
        put_all(frame.CmdLists[i]->VtxBuffer);
    }
    if (known_ && now_ == there_) return true;
    std::swap(now_, there_);
    known_ = true;
    return false;
}

}  // namespace app::window
