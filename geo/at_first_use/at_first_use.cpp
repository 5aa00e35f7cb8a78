// A large library that most commands never call is loaded when one of its functions is called for the first time:
// GDAL brings some fifty others with it, and loading them takes longer than the advice for a truck may. Sources call it
// as they would call any library; write_calls.sh makes the entries that they are linked with.

#include <string>

#include <dlfcn.h>

#include "models/error.h"

/// @returns where the function of that name lies
/// @throws models::Error  the library is not there or cannot be loaded, or has no such function
extern "C" void* lodicule_function_of(const char* library, const char* function);

extern "C" void* lodicule_function_of(const char* library, const char* function) {
    void* const opened = ::dlopen(library, RTLD_LAZY | RTLD_LOCAL);  // once loaded it is only looked up
    if (void* const found = opened == nullptr ? nullptr : ::dlsym(opened, function)) return found;
    const char* const why = ::dlerror();
    throw models::Error("a library of this program cannot be used: " + std::string(why != nullptr ? why : function),
                        library, "install the package of the system that holds it");
}
