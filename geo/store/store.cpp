#include "geo/store/store.h"

#include <array>
#include <cerrno>
#include <fstream>
#include <system_error>
#include <utility>

#include <fcntl.h>
#include <sys/vfs.h>
#include <unistd.h>

#include "geo/store/chain.h"
#include "geo/store/database.h"
#include "geo/store/schema.h"
#include "geo/store/starting_limits.h"
#include "models/error.h"

namespace geo {

namespace {

namespace fs = std::filesystem;

/// The write-ahead log needs memory shared between programs of one machine.
bool on_network_share(const fs::path& folder) {
    struct statfs about {};
    if (::statfs(folder.c_str(), &about) != 0) return false;
    const auto type = static_cast<unsigned long>(about.f_type) & 0xffffffffUL;
    constexpr std::array<unsigned long, 5> shares = {0x6969UL, 0xff534d42UL, 0xfe534d42UL, 0x517bUL, 0x01021997UL};
    for (const unsigned long share : shares) {
        if (type == share) return true;
    }
    return false;
}

fs::path folder_of(const fs::path& file) {
    return file.has_parent_path() ? file.parent_path() : fs::path(".");
}

void refuse_network_share(const fs::path& file) {
    if (on_network_share(folder_of(file))) {
        throw models::Error("the store would lie on a network share, where two machines could damage it", file.string(),
                            "keep the store on a disk of this machine and share exports");
    }
}

/// Looks at the first bytes, before SQLite does: its own words for these cases help nobody.
void refuse_what_is_no_database(const fs::path& file) {
    std::error_code error;
    const fs::file_status status = fs::status(file, error);
    if (!fs::exists(status)) {
        throw models::Error("there is no such store", file.string(),
                            "make it with `lodicule new " + file.string() + "`");
    }
    if (fs::is_directory(status)) {
        throw models::Error("this is a folder, not a store", file.string(), "name the file of the store");
    }
    if (fs::file_size(file, error) == 0) {
        throw models::Error("the file is empty (0 bytes), so it is no store", file.string(),
                            "take the store from a backup, or delete the file and make a new store");
    }
    std::ifstream start(file, std::ios::binary);
    if (!start) {
        throw models::Error("no right to read the store", file.string(), "ask its owner for the right to read it");
    }
    char magic[16] = {};
    start.read(magic, sizeof magic);
    if (std::string_view(magic, sizeof magic) != std::string_view("SQLite format 3\0", 16)) {
        throw models::Error("the file is no store", file.string(), "name a store made by `lodicule new`");
    }
}

void refuse_what_is_no_store(Database& database) {
    if (database.whole("PRAGMA application_id") != store_application_id) {
        throw models::Error("the file is a database of another program", database.file().string(),
                            "name a store made by `lodicule new`; outlines in a GeoPackage come in by "
                            "`lodicule import STORE fields FILE`");
    }
    const auto version = database.whole("PRAGMA user_version");
    const int known = newest_version(schema_files());
    if (version > known) {
        throw models::Error("the store was made by a newer lodicule (schema " + std::to_string(version) +
                                ", this program knows " + std::to_string(known) + ")",
                            database.file().string(), "update lodicule on this machine");
    }
}

/// Removes the half-made file unless told that it is done.
struct Unfinished {
    fs::path file;
    bool done = false;
    void remove() const {
        std::error_code ignored;
        for (const char* tail : {"", "-wal", "-shm", "-journal"}) fs::remove(file.string() + tail, ignored);
    }
    ~Unfinished() {
        if (!done) remove();
    }
};

}  // namespace

Store::Store(std::unique_ptr<Database> database, fs::path file)
    : database_(std::move(database)), file_(std::move(file)) {}
Store::Store(Store&&) noexcept = default;
Store& Store::operator=(Store&&) noexcept = default;
Store::~Store() = default;

Store Store::create(const fs::path& file) {
    const auto taken = [&file] {
        return models::Error("there is a file of this name already", file.string(),
                             "choose another name, or move the file away");
    };
    if (fs::exists(file)) throw taken();
    if (!fs::is_directory(folder_of(file))) {
        throw models::Error("there is no folder " + folder_of(file).string(), file.string(), "make the folder first");
    }
    refuse_network_share(file);
    // Made beside and renamed, so that a store is there whole or not at all.
    Unfinished unfinished{folder_of(file) / ("." + file.filename().string() + ".new" + std::to_string(::getpid()))};
    unfinished.remove();
    {
        Store made(Database::in_memory(), unfinished.file);
        make_schema(*made.database_, schema_files(), name_of_user());
        load_starting_limits(made);
        try {
            Statement copy(*made.database_, "VACUUM INTO ?");
            copy.with(unfinished.file.string()).run();
            Database(unfinished.file, Database::Mode::read_write).run("PRAGMA wal_checkpoint(TRUNCATE)");
        } catch (const models::Error& error) {
            throw models::Error("the store cannot be made: " + error.what_happened(), file.string(),
                                "check that " + folder_of(file).string() + " may be written and its disk has room");
        }
    }
    if (::renameat2(AT_FDCWD, unfinished.file.c_str(), AT_FDCWD, file.c_str(), RENAME_NOREPLACE) != 0) {
        if (errno == EEXIST || fs::exists(file)) throw taken();
        std::error_code error;
        fs::rename(unfinished.file, file, error);
        if (error)
            throw models::Error("the new store could not be put in its place: " + error.message(), file.string());
    }
    unfinished.done = true;
    return open(file);
}

namespace {

/// A store of an older lodicule is brought to the newest schema by whoever opens it, if only to read it.
void bring_up_to_date(const fs::path& file) {
    try {
        Store::open(file, Store::Access::read_write);
    } catch (const models::Error& error) {
        throw models::Error(
            "the store is of an older lodicule and could not be brought up to date: " + error.what_happened(),
            file.string(),
            "copy it to where it may be written and open the copy" +
                (error.how_to_mend().empty() ? std::string() : ", or " + error.how_to_mend()));
    }
}

}  // namespace

Store Store::open(const fs::path& file, Access access) {
    refuse_what_is_no_database(file);
    if (access == Access::read_only) {
        auto database = std::make_unique<Database>(file, Database::Mode::read_only);
        refuse_what_is_no_store(*database);
        if (database->whole("PRAGMA user_version") < newest_version(schema_files())) {
            database.reset();
            bring_up_to_date(file);
            database = std::make_unique<Database>(file, Database::Mode::read_only);
        }
        return Store(std::move(database), file);
    }
    refuse_network_share(file);
    {  // a stranger's file is looked at before anything of it can run
        Database look(file, Database::Mode::read_only);
        refuse_what_is_no_store(look);
    }
    auto database = std::make_unique<Database>(file, Database::Mode::read_write);
    upgrade_schema(*database, schema_files(), name_of_user());
    return Store(std::move(database), file);
}

const fs::path& Store::file() const {
    return file_;
}
Database& Store::database() const {
    return *database_;
}

}  // namespace geo
