// A libFuzzer target: any bytes are read as an overlay of the coefficient library, or refused.
#include <cstdint>

#include "tests/fuzz/overlay.hpp"
#include "tests/fuzz/target.hpp"

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  farrowtide::stop_at(farrowtide::breach_in_overlay({reinterpret_cast<const char*>(data), size}));
  return 0;
}
