# Compiles files into C++ as bytes: cmake -DSYMBOL=NAME -DOUT=FILE.cpp -P embed_bytes.cmake FILE...
# std::vector<std::pair<std::string_view stem, std::string_view bytes>> embedded::NAME()
set(arrays "")
set(rows "")
set(count 0)
set(is_file FALSE)
math(EXPR last "${CMAKE_ARGC} - 1")
foreach(i RANGE ${last})
    if(is_file)
        set(path "${CMAKE_ARGV${i}}")
        cmake_path(GET path STEM stem)
        file(READ "${path}" bytes HEX)
        string(REGEX REPLACE "([0-9a-f][0-9a-f])" "\\\\x\\1" bytes "${bytes}")
        # Strings of 32 bytes each: compilers take them far faster than as many numbers.
        string(REPEAT "\\\\x[0-9a-f][0-9a-f]" 32 row)
        string(REGEX REPLACE "(${row})" "\\1\"\n    \"" bytes "${bytes}")
        file(SIZE "${path}" size)
        string(APPEND arrays "constexpr char file_${count}[] =\n    \"${bytes}\";\n")
        string(APPEND rows "        {\"${stem}\", {file_${count}, ${size}}},\n")
        math(EXPR count "${count} + 1")
    elseif("${CMAKE_ARGV${i}}" MATCHES "embed_bytes.cmake$")
        set(is_file TRUE)
    endif()
endforeach()
file(WRITE "${OUT}" "#include <string_view>
#include <utility>
#include <vector>
namespace embedded {
namespace {
${arrays}}  // namespace
std::vector<std::pair<std::string_view, std::string_view>> ${SYMBOL}();
std::vector<std::pair<std::string_view, std::string_view>> ${SYMBOL}() {
    return {
${rows}    };
}
}  // namespace embedded
")
