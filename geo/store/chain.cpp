#include "geo/store/chain.h"

#include <charconv>
#include <chrono>
#include <cstdlib>
#include <fstream>
#include <memory>
#include <vector>

#include <nlohmann/json.hpp>
#include <openssl/evp.h>
#include <pwd.h>
#include <unistd.h>

#include "models/calendar.h"
#include "models/error.h"

namespace geo {

namespace {

const std::string no_event(64, '0');

/// Of bytes that come piece by piece.
class Sha256 {
 public:
    Sha256() : context_(EVP_MD_CTX_new(), &EVP_MD_CTX_free) {
        require(context_ && EVP_DigestInit_ex(context_.get(), EVP_sha256(), nullptr) == 1);
    }
    void add(std::string_view bytes) { require(EVP_DigestUpdate(context_.get(), bytes.data(), bytes.size()) == 1); }
    std::string digits() {
        unsigned char digest[EVP_MAX_MD_SIZE];
        unsigned int size = 0;
        require(EVP_DigestFinal_ex(context_.get(), digest, &size) == 1);
        static constexpr char hexadecimal[] = "0123456789abcdef";
        std::string text;
        text.reserve(2 * size);
        for (unsigned int i = 0; i < size; ++i) {
            text += hexadecimal[digest[i] >> 4];
            text += hexadecimal[digest[i] & 15];
        }
        return text;
    }

 private:
    static void require(bool done) {
        if (!done) throw models::Error("the cryptographic library of this machine computes no SHA-256");
    }
    std::unique_ptr<EVP_MD_CTX, decltype(&EVP_MD_CTX_free)> context_;
};

}  // namespace

std::string sha256_of(std::string_view bytes) {
    Sha256 sum;
    sum.add(bytes);
    return sum.digits();
}

std::string sha256_of_file(const std::filesystem::path& file) {
    std::ifstream in(file, std::ios::binary);
    Sha256 sum;
    std::vector<char> piece(1 << 20);
    while (in) {
        in.read(piece.data(), static_cast<std::streamsize>(piece.size()));
        sum.add({piece.data(), static_cast<std::size_t>(in.gcount())});
    }
    if (!in.eof()) throw models::Error("the file cannot be read", file.string());
    return sum.digits();
}

std::string sha256_of(const Event& event) {
    // The payload is canonical already: it is set in as it is, between keys that sort before and after it.
    const auto quoted = [](const std::string& text) { return nlohmann::json(text).dump(); };
    std::string text = "{\"action\":" + quoted(event.action) + ",\"actor\":" + quoted(event.actor) +
                       ",\"payload\":" + event.payload + ",\"previous_sha256\":" + quoted(event.previous_sha256) +
                       ",\"sequence\":" + std::to_string(event.sequence) +
                       ",\"undoes\":" + (event.undoes ? std::to_string(*event.undoes) : "null") +
                       ",\"utc\":" + quoted(event.utc) + "}";
    return sha256_of(std::string_view(text));
}

std::string clock_utc() {
    auto now = std::chrono::floor<std::chrono::seconds>(std::chrono::system_clock::now());
    if (const char* fixed = std::getenv("SOURCE_DATE_EPOCH"); fixed != nullptr && *fixed != '\0') {
        const std::string_view text = fixed;
        long long seconds = 0;
        const auto [end, error] = std::from_chars(text.data(), text.data() + text.size(), seconds);
        if (error != std::errc{} || end != text.data() + text.size() || seconds < 0) {
            throw models::Error("SOURCE_DATE_EPOCH is \"" + std::string(text) + "\", which is no number of seconds");
        }
        now = std::chrono::sys_seconds{std::chrono::seconds{seconds}};
    }
    return models::to_text(now);
}

std::string name_of_user() {
    passwd entry{};
    passwd* found = nullptr;
    char buffer[4096];
    if (getpwuid_r(getuid(), &entry, buffer, sizeof buffer, &found) == 0 && found != nullptr &&
        found->pw_name != nullptr && *found->pw_name != '\0') {
        return found->pw_name;
    }
    return "user " + std::to_string(getuid());
}

Chain::Chain(Database& database)
    : database_(database),
      insert_(database,
              "INSERT INTO event (sequence, utc, actor, action, payload, undoes, previous_sha256, sha256) "
              "VALUES (?, ?, ?, ?, ?, ?, ?, ?)") {
    look_again();
}

void Chain::look_again() {
    Statement last(database_, "SELECT sequence, sha256 FROM event ORDER BY sequence DESC LIMIT 1");
    const bool any = last.step();
    last_sequence_ = any ? last.whole(0) : 0;
    last_sha256_ = any ? last.text(1) : no_event;
}

std::int64_t Chain::append(const std::string& action, const std::string& actor, const std::string& payload,
                           std::optional<std::int64_t> undoes) {
    Event event{last_sequence_ + 1, clock_utc(), actor, action, payload, undoes, last_sha256_, ""};
    event.sha256 = sha256_of(event);
    insert_
        .with(event.sequence, event.utc, event.actor, event.action, event.payload, event.undoes, event.previous_sha256,
              event.sha256)
        .run();
    last_sequence_ = event.sequence;
    last_sha256_ = event.sha256;
    return event.sequence;
}

std::string verify_chain(Database& database, const std::function<void(const Event&)>& each) {
    Statement events(database,
                     "SELECT sequence, utc, actor, action, payload, undoes, previous_sha256, sha256 FROM event "
                     "ORDER BY sequence");
    std::string previous = no_event;
    std::int64_t expected = 1;
    while (events.step()) {
        const Event event{events.whole(0), events.text(1),           events.text(2), events.text(3),
                          events.text(4),  events.optional_whole(5), events.text(6), events.text(7)};
        const std::string name = "record " + std::to_string(event.sequence) + " of " + event.utc;
        if (event.sequence != expected) {
            return "record " + std::to_string(expected) + " is missing from the chain";
        }
        if (event.previous_sha256 != previous) return name + " does not follow the one before it";
        if (event.sha256 != sha256_of(event)) return name + " was altered after it was made";
        if (each) each(event);
        previous = event.sha256;
        ++expected;
    }
    if (expected == 1) return "the chain has no record at all";
    return "";
}

}  // namespace geo
