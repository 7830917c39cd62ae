# Writes FILES as byte arrays: {name, text}. Byte arrays, because compilers cap the length of a string literal.
file(WRITE ${OUTPUT} "// Generated from libsim/coefficients; do not edit.\n#include \"libsim/scenario/embedded_files.hpp\"\n\nnamespace farrowtide {\nnamespace {\n")
set(rows "")
foreach(path IN LISTS FILES)
  get_filename_component(name ${path} NAME_WE)
  file(READ ${path} bytes HEX)
  string(REGEX REPLACE "(................................)" "\\1\n" bytes "${bytes}")  # 16 bytes a line
  string(REGEX REPLACE "([0-9a-f][0-9a-f])" "0x\\1," bytes "${bytes}")
  file(APPEND ${OUTPUT} "constexpr unsigned char ${name}_text[] = {${bytes}};\n")
  string(APPEND rows "    {\"${name}.yaml\", {reinterpret_cast<const char*>(${name}_text), sizeof ${name}_text}},\n")
endforeach()
file(APPEND ${OUTPUT} "}  // namespace\n\nstd::span<const EmbeddedFile> embedded_coefficient_files() {\n  static const EmbeddedFile files[] = {\n${rows}  };\n  return files;\n}\n\n}  // namespace farrowtide\n")
