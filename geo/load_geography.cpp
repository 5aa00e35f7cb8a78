#include "geo/load_geography.h"

#include <geos_c.h>
#include <proj.h>

namespace geo {

std::future<void> load_geography() {
    return std::async(std::launch::async, [] {
        GEOS_finish_r(GEOS_init_r());
        proj_context_destroy(proj_context_create());
    });
}

}  // namespace geo
