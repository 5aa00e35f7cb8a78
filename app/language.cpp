#include "app/language.h"

#include <algorithm>
#include <cstdlib>
#include <filesystem>
#include <fstream>
#include <iterator>
#include <locale>
#include <map>
#include <memory>
#include <mutex>
#include <stdexcept>
#include <utility>

#include <boost/locale/gnu_gettext.hpp>
#include <boost/locale/message.hpp>

#include "app/words.h"

namespace embedded {
std::vector<std::pair<std::string_view, std::string_view>> languages();
}

namespace app {

namespace {

constexpr const char* catalogue_name = "lodicule";
constexpr const char* original_language = "en";

std::filesystem::path folder_of_languages() {
    const char* folder = std::getenv("LODICULE_LANGUAGE_DIR");
    return folder == nullptr ? "" : folder;
}

std::string_view embedded_language(const std::string& code) {
    for (const auto& [name, bytes] : embedded::languages())
        if (name == code) return bytes;
    return {};
}

std::vector<char> bytes_of_language(const std::string& code) {
    if (const auto folder = folder_of_languages(); !folder.empty()) {
        std::ifstream in(folder / (code + ".mo"), std::ios::binary);
        if (in) return {std::istreambuf_iterator<char>(in), std::istreambuf_iterator<char>()};
    }
    const std::string_view held = embedded_language(code);
    return {held.begin(), held.end()};
}

/// The translations of one language, read once and kept until the program ends.
class Catalogue : public models::Translation {
 public:
    using Messages = boost::locale::message_format<char>;

    /// @throws std::exception  the bytes are no catalogue
    explicit Catalogue(const std::string& code) {
        const std::vector<char> bytes = bytes_of_language(code);
        if (bytes.empty()) throw std::runtime_error("there is none");
        namespace gettext = boost::locale::gnu_gettext;
        gettext::messages_info info;
        info.language = code;
        info.encoding = "UTF-8";
        info.domains.emplace_back(catalogue_name);
        info.paths.emplace_back("");
        info.callback = [&](const std::string&, const std::string&) { return bytes; };
        keeps_ = std::locale(std::locale::classic(), gettext::create_messages_facet<char>(info));
        messages_ = &std::use_facet<Messages>(keeps_);
        domain_ = messages_->domain(catalogue_name);
        if (find(words::language_name) == nullptr) throw std::runtime_error("it does not name its language");
    }

    /// Null: it has no such word, or one with other places.
    const char* find(const Word& word) const override {
        const char* text = messages_->get(domain_, word.context, word.original);
        return text != nullptr && *text != '\0' && same_places(word.original, text) ? text : nullptr;
    }

 private:
    std::locale keeps_;  // nothing but this facet is used of it
    const Messages* messages_ = nullptr;
    int domain_ = 0;
};

struct Read {
    std::unique_ptr<const Catalogue> catalogue;
    std::string problem;
};

const Read& read_language(const std::string& code) {
    // By folder too: a test changes it.
    static std::map<std::pair<std::string, std::string>, Read> known;
    static std::mutex mutex;
    const std::scoped_lock lock(mutex);
    const auto [at, is_new] = known.try_emplace({folder_of_languages().string(), code});
    if (is_new && code != original_language) {
        try {
            at->second.catalogue = std::make_unique<const Catalogue>(code);
        } catch (const std::exception& error) {
            at->second.problem =
                fmt::format("The words of the language \"{}\" cannot be read ({}), so the window speaks English.", code,
                            error.what());
        }
    }
    return at->second;
}

/// The places of a format string, numbered as they come where they are not numbered, in order.
std::vector<std::pair<int, std::string>> places_of(std::string_view text) {
    std::vector<std::pair<int, std::string>> places;
    int next = 0;
    for (std::size_t at = 0; at < text.size(); ++at) {
        if (text[at] != '{' && text[at] != '}') continue;
        if (at + 1 < text.size() && text[at + 1] == text[at]) {
            ++at;
            continue;
        }
        const std::size_t end = text[at] == '{' ? text.find('}', at) : std::string_view::npos;
        if (end == std::string_view::npos) {
            places.emplace_back(-1, "not closed");
            break;
        }
        const std::string_view inside = text.substr(at + 1, end - at - 1);
        const std::size_t colon = std::min(inside.find(':'), inside.size());
        const std::string number(inside.substr(0, colon));
        const bool is_number = std::all_of(number.begin(), number.end(), [](char c) { return c >= '0' && c <= '9'; });
        const int index = number.empty() ? next++ : is_number && number.size() < 3 ? std::stoi(number) : -1;
        places.emplace_back(index, std::string(inside.substr(colon)));
        at = end;
    }
    std::sort(places.begin(), places.end());
    return places;
}

bool is_mixed(std::string_view text) {
    bool counted = false, numbered = false;
    for (std::size_t at = text.find('{'); at != std::string_view::npos && at + 1 < text.size();
         at = text.find('{', at + 1)) {
        const char after = text[at + 1];
        counted = counted || after == '}' || after == ':';
        numbered = numbered || (after >= '0' && after <= '9');
    }
    return counted && numbered;
}

}  // namespace

bool same_places(std::string_view original, std::string_view translation) {
    return places_of(original) == places_of(translation) && !is_mixed(translation);
}

SpokenIn::SpokenIn(const std::string& language) : translated_(read_language(language).catalogue.get()) {}

std::vector<std::string> languages() {
    std::vector<std::string> codes;
    for (const auto& [name, bytes] : embedded::languages()) codes.emplace_back(name);
    std::error_code none;
    for (const auto& file : std::filesystem::directory_iterator(folder_of_languages(), none))
        if (file.path().extension() == ".mo") codes.push_back(file.path().stem().string());
    std::sort(codes.begin(), codes.end());
    codes.erase(std::unique(codes.begin(), codes.end()), codes.end());
    std::erase(codes, original_language);
    codes.insert(codes.begin(), original_language);
    return codes;
}

std::string name_of_language(const std::string& code) {
    if (!problem_of_language(code).empty()) return code;
    const SpokenIn language(code);
    return spoken(words::language_name);
}

std::string problem_of_language(const std::string& code) {
    return read_language(code).problem;
}

}  // namespace app
