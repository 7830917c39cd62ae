// A libFuzzer target: bytes decide the keys and values of a scenario, which is read and simulated.
// With FARROWTIDE_FUZZ_SHOW=1 it prints the scenario that an input stands for.
#include "tests/fuzz/random_scenario.hpp"

#include "tests/fuzz/target.hpp"

namespace {

struct Tally {
  unsigned long long inputs = 0, refused_as_drawn = 0, simulated = 0, checks = 0;

  void add(const farrowtide::Outcome& outcome) {
    ++inputs;
    refused_as_drawn += outcome.refused_as_drawn;
    simulated += outcome.simulated;
    checks += outcome.checks;
  }
  ~Tally() {
    std::fprintf(stderr, "%llu inputs: %llu refused as drawn, %llu simulated, %llu conservation checks\n", inputs,
                 refused_as_drawn, simulated, checks);
  }
};

void show(const std::uint8_t* data, std::size_t size) {
  farrowtide::Bytes bytes(data, size);
  farrowtide::Trial::drawn(bytes);
  std::puts(farrowtide::as_file(farrowtide::Drawing(bytes).scenario(farrowtide::scenario_declaration())).c_str());
}

}  // namespace

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  static Tally tally;
  static const bool shown = std::getenv("FARROWTIDE_FUZZ_SHOW") != nullptr;
  if (shown) show(data, size);
  const farrowtide::Outcome outcome = farrowtide::judged(data, size);
  tally.add(outcome);
  farrowtide::stop_at(outcome.breach);
  return 0;
}
