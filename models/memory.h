#pragma once

namespace models {

/// Keeps what is freed for what is asked for next. A fit asks for the same few megabytes thousands of times over; the C
/// library hands them back to the system in between, and getting them anew costs as much as the arithmetic. Half a GB
/// at most is kept. Called once, first thing in a program; without effect where the C library is not glibc.
/// Source: the GNU C Library Reference Manual, section 3.2.4.6 (Malloc Tunable Parameters).
void keep_freed_memory();

/// From now on keeps some 24 MB at most at the end of each thread's heap: in a program that stays, as the window does.
/// A fit goes through few megabytes over and over, and keeps those.
void keep_less_freed_memory();

/// Hands everything that is kept back to the system: after long work in a program that stays, as the window does.
void return_freed_memory();

/// The same of this thread alone, when it has done its work: the C library gives threads heaps of their own, and what a
/// thread frees serves no other before that one has ended.
void return_freed_memory_of_thread();

}  // namespace models
