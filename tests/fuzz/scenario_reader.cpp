// A libFuzzer target: any bytes are read as a scenario or refused, within bounds of time and memory.
#include <cstdint>

#include "libsim/run/scenario.hpp"
#include "tests/fuzz/reading.hpp"
#include "tests/fuzz/target.hpp"

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  const std::string text(reinterpret_cast<const char*>(data), size);
  farrowtide::stop_at(farrowtide::breach_in_reading(text));
  farrowtide::stop_at(farrowtide::breach_in(text, [&] { farrowtide::Scenario::parse(text, "text"); }));
  return 0;
}
