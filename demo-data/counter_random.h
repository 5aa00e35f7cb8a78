#pragma once

#include <cstdint>
#include <initializer_list>
#include <string_view>
#include <vector>

namespace demo {

/// Numbers that look like chance and are the same every time. Every purpose has a stream of its own, named in words,
/// so that one draw more in one place never changes another. Draw i of a stream is a mixing of (stream, i) alone:
/// the finaliser of SplitMix64 (Steele, Lea and Flood 2014, OOPSLA, fig. 17).
class Draws {
 public:
    Draws(std::string_view purpose, std::uint64_t a = 0, std::uint64_t b = 0, std::uint64_t c = 0);

    double uniform();  ///< in (0, 1), never 0 or 1
    double uniform(double low, double high);
    int whole(int low, int high);  ///< both included
    bool chance(double probability);
    double normal();  ///< mean 0, variance 1; Box and Muller 1958
    double normal(double mean, double sd) { return mean + sd * normal(); }
    std::size_t weighted(std::initializer_list<double> weights);  ///< an index, in proportion to its weight

 private:
    std::uint64_t stream_;
    std::uint64_t next_ = 0;
};

}  // namespace demo
