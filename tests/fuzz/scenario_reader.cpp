// A libFuzzer target: any bytes are read or refused, within bounds of time and memory.
#include <cstdint>
#include <cstdio>
#include <cstdlib>
#include <string>

#include "tests/fuzz/reading.hpp"

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  const std::string text(reinterpret_cast<const char*>(data), size);
  if (const std::string breach = farrowtide::breach_in_reading(text); !breach.empty()) {
    std::fprintf(stderr, "%s\n", breach.c_str());
    std::abort();
  }
  return 0;
}
