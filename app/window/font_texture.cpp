#include "app/window/font_texture.h"

#include <cstdint>

#include <GL/gl.h>
#include <GL/glext.h>
#include <backends/imgui_impl_opengl3.h>
#include <imgui.h>

namespace app::window {

FontTexture::FontTexture() {
    // Letters belong to what Dear ImGui makes for itself: here it makes those of an atlas that is thrown away.
    ImFontAtlas none;
    ImFontAtlas* const baked = ImGui::GetIO().Fonts;
    ImGui::GetIO().Fonts = &none;
    ImGui_ImplOpenGL3_CreateDeviceObjects();
    ImGui::GetIO().Fonts = baked;
    make();
}

FontTexture::~FontTexture() {
    glDeleteTextures(1, &texture_);
    ImGui::GetIO().Fonts->SetTexID(nullptr);
}

void FontTexture::make() {
    unsigned char* letters = nullptr;
    int width = 0, height = 0;
    ImGui::GetIO().Fonts->GetTexDataAsAlpha8(&letters, &width, &height);
    GLint before = 0, alignment = 0;
    glGetIntegerv(GL_TEXTURE_BINDING_2D, &before);
    glGetIntegerv(GL_UNPACK_ALIGNMENT, &alignment);
    if (texture_ == 0) glGenTextures(1, &texture_);
    glBindTexture(GL_TEXTURE_2D, texture_);
    glTexParameteri(GL_TEXTURE_2D, GL_TEXTURE_MIN_FILTER, GL_LINEAR);
    glTexParameteri(GL_TEXTURE_2D, GL_TEXTURE_MAG_FILTER, GL_LINEAR);
    // White, as opaque as the letter is there.
    const GLint white[] = {GL_ONE, GL_ONE, GL_ONE, GL_RED};
    glTexParameteriv(GL_TEXTURE_2D, GL_TEXTURE_SWIZZLE_RGBA, white);
    glPixelStorei(GL_UNPACK_ALIGNMENT, 1);
    glTexImage2D(GL_TEXTURE_2D, 0, GL_R8, width, height, 0, GL_RED, GL_UNSIGNED_BYTE, letters);
    glPixelStorei(GL_UNPACK_ALIGNMENT, alignment);
    glBindTexture(GL_TEXTURE_2D, static_cast<GLuint>(before));
    ImGui::GetIO().Fonts->SetTexID(reinterpret_cast<ImTextureID>(static_cast<std::uintptr_t>(texture_)));
}

}  // namespace app::window
