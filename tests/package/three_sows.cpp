// The whole engine: runs a scenario as tests/golden does and compares the number of events.
#include <cstdio>
#include <cstdlib>

#include "libsim/run/replications.hpp"

int main(int count, char** arguments) {
  using namespace farrowtide;
  if (count != 3) return 2;
  try {
    const Scenario scenario = Scenario::load(arguments[1]);
    RunOptions options;
    options.replications = 3;
    options.seed = 2024;
    const RunResult result = run_replications(scenario.alternative("2 hand feeds"), options);
    const auto expected = std::strtoull(arguments[2], nullptr, 10);
    std::printf("%llu events, %llu expected\n", static_cast<unsigned long long>(result.events), expected);
    return result.events == expected ? 0 : 1;
  } catch (const UserError& error) {  // of the library, caught here
    std::printf("the scenario: %s\n", error.what());
    return 1;
  }
}
