# Run as cmake -DIN=FILE -DOUT=FILE.cpp -DNAME=name -P EmbedFile.cmake: the bytes of a file, and their SHA-256, as a C++ source.
file(READ "${IN}" hex HEX)
file(SHA256 "${IN}" digest)
string(REGEX REPLACE "([0-9a-f][0-9a-f])" "0x\\1," bytes "${hex}")
string(REGEX REPLACE "(0x..,0x..,0x..,0x..,0x..,0x..,0x..,0x..,0x..,0x..,0x..,0x..,0x..,0x..,0x..,0x..,)" "\\1\n" bytes "${bytes}")
file(WRITE "${OUT}.new" "// Made from ${NAME}; do not edit.\n#include \"cli/views/report/assets.h\"\n\nnamespace ebb::cli::assets {\nnamespace {\nconstexpr unsigned char kBytes[] = {\n${bytes}0};\n}  // namespace\nAsset ${NAME}() { return {{reinterpret_cast<const char*>(kBytes), sizeof(kBytes) - 1}, \"${digest}\"}; }\n}  // namespace ebb::cli::assets\n")
file(RENAME "${OUT}.new" "${OUT}")
