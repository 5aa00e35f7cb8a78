#include "geo/store/directed_loads.h"

#include "geo/store/database.h"
#include "geo/store/store.h"

namespace geo {

std::map<std::string, std::string> directed_loads(const Store& store) {
    std::map<std::string, std::string> bins;
    Statement rows(store.database(),
                   "SELECT load, coalesce(json_extract(notes, '$.directed_bin'), '') FROM current_load "
                   "WHERE status = 'directed'");
    while (rows.step()) bins[rows.text(0)] = rows.text(1);
    return bins;
}

}  // namespace geo
