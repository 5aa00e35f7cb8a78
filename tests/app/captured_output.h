#pragma once

#include <cstdio>
#include <string>

#include <unistd.h>

namespace tests {

/// What is printed while it lives: one stream of the program, kept in a file without a name.
class CapturedOutput {
 public:
    explicit CapturedOutput(std::FILE* stream)
        : stream_(stream), number_(::fileno(stream)), kept_(std::tmpfile()), before_(::dup(number_)) {
        std::fflush(stream_);
        ::dup2(::fileno(kept_), number_);
    }
    ~CapturedOutput() {
        std::fflush(stream_);
        ::dup2(before_, number_);
        ::close(before_);
        std::fclose(kept_);
    }
    CapturedOutput(const CapturedOutput&) = delete;
    CapturedOutput& operator=(const CapturedOutput&) = delete;

    std::string text() const {
        std::fflush(stream_);
        std::string all;
        char part[4096];
        ::lseek(number_, 0, SEEK_SET);
        for (ssize_t n = 0; (n = ::read(number_, part, sizeof part)) > 0;)
            all.append(part, static_cast<std::size_t>(n));
        return all;
    }

 private:
    std::FILE* stream_;
    int number_;
    std::FILE* kept_;
    int before_;
};

}  // namespace tests
