#include <algorithm>
#include <cstdint>
#include <memory>
#include <vector>

#include <GL/gl.h>
#include <catch2/catch.hpp>

#include "app/window/imgui_painter.h"
#include "app/window/offscreen.h"

/// Pictures on the graphics card, without a screen.
using app::drawing::Image;
using app::window::TextureStore;

namespace {

Image picture_of(int width, int height) {
    return {width, height,
            std::vector<std::uint32_t>(static_cast<std::size_t>(width) * static_cast<std::size_t>(height), 0xFF336699)};
}

}  // namespace

TEST_CASE("a picture on the card is known by its own thing once its pixels are let go, and goes with that thing") {
    const app::window::Offscreen screen(64, 64);
    TextureStore store;
    store.enable();
    Image image = picture_of(20, TextureStore::band_rows + 40);
    REQUIRE(TextureStore::bands_of(image) == 2);
    std::shared_ptr<const void> by = std::make_shared<const int>(0);
    const unsigned upper = store.texture_of(image, by, 0);
    CHECK(upper != 0);
    CHECK_FALSE(store.keeps(image, by));  // half of it
    const unsigned lower = store.texture_of(image, by, 1);
    CHECK(lower != 0);
    CHECK(store.keeps(image, by));
    image.rgba = {};
    CHECK(store.texture_of(image, by, 0) == upper);
    CHECK(store.texture_of(image, by, 1) == lower);
    store.clear();  // of those that are known by their pixels
    CHECK(store.keeps(image, by));

    const std::shared_ptr<const void> other = std::make_shared<const int>(0);
    CHECK(store.texture_of(image, other, 0) == 0);  // neither there nor are its pixels
    CHECK_FALSE(store.keeps(image, other));
    by.reset();
    store.clear();
    CHECK(glIsTexture(upper) == GL_FALSE);
    CHECK(glIsTexture(lower) == GL_FALSE);
}

TEST_CASE("what the card has lost is drawn from pixels alone") {
    const app::window::Offscreen screen(64, 64);
    TextureStore store;
    store.enable();
    Image image = picture_of(20, 30);
    const std::shared_ptr<const void> by = std::make_shared<const int>(0);
    REQUIRE(store.texture_of(image, by, 0) != 0);
    store.lose_all();
    CHECK_FALSE(store.keeps(image, by));
    CHECK(store.texture_of(image, by, 0) != 0);
    store.lose_all();
    image.rgba = {};
    CHECK(store.texture_of(image, by, 0) == 0);
}

TEST_CASE("the bands of a picture meet without a gap and hold a row of their neighbours") {
    const Image image{10, 600, {}};
    REQUIRE(TextureStore::bands_of(image) == 3);
    int next = 0;
    for (int band = 0; band < 3; ++band) {
        const auto own = TextureStore::rows_of(image, band, false), held = TextureStore::rows_of(image, band, true);
        CHECK(own.first == next);
        CHECK(held.first == std::max(0, own.first - 1));
        CHECK(held.last == std::min(600, own.last + 1));
        next = own.last;
    }
    CHECK(next == 600);
}
