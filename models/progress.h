#pragma once

#include <functional>
#include <string_view>

#include "models/error.h"

namespace models {

/// How long work says how far it is and learns that it should stop. Kernels call step once a block; a cancelled step
/// throws Cancelled, so a loop needs one line. The empty Progress costs nothing.
class Progress {
 public:
    using Listener = std::function<bool(std::string_view what, double share)>;  ///< false: please stop

    Progress() = default;
    explicit Progress(Listener listener) : listener_(std::move(listener)) {}

    /// @param share  0 to 1 of the work that `what` names
    /// @throws Cancelled  when the listener said so
    void step(std::string_view what, double share) const {
        if (listener_ && !listener_(what, share)) throw Cancelled();
    }

 private:
    Listener listener_;
};

}  // namespace models
