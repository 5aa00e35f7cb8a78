#include "app/job.h"

#include "models/memory.h"

#ifdef __linux__
#include <sched.h>
#include <sys/resource.h>
#include <unistd.h>
#endif

namespace app {

void give_way() {
#ifdef __linux__
    // On Linux policy and niceness are a thread's own, and what it starts takes them over (sched(7), setpriority(2)).
    // SCHED_BATCH: what wakes up there interrupts nobody else. Not SCHED_IDLE: beside another program that wants all
    // processors the work would come to no end.
    const sched_param none{};
    sched_setscheduler(0, SCHED_BATCH, &none);
    constexpr int nicer = 10;
    setpriority(PRIO_PROCESS, static_cast<id_t>(gettid()), getpriority(PRIO_PROCESS, 0) + nicer);
#endif
}

void give_back_freed_memory(double seconds) {
    constexpr double long_work_s = 2.0;
    if (seconds >= long_work_s)
        models::return_freed_memory();
    else
        models::return_freed_memory_of_thread();
}

}  // namespace app
