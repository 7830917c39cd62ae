// Goes with each executable of tests in that copy: writes what every test reached to FARROWTIDE_REACHED, a file.
#include <gtest/gtest.h>

#include <cstdio>
#include <cstdlib>

#include "libsim/mutant.hpp"

namespace {

class Listener : public testing::EmptyTestEventListener {
  void OnTestEnd(const testing::TestInfo& test) override {
    static int numbers[farrowtide_mutants::most];
    const int count = farrowtide_take_reached(numbers);
    std::FILE* file = std::fopen(std::getenv("FARROWTIDE_REACHED"), "a");
    std::fprintf(file, "{\"test\": \"%s.%s\", \"seconds\": %g, \"reached\": [", test.test_suite_name(), test.name(),
                 static_cast<double>(test.result()->elapsed_time()) / 1000);
    for (int i = 0; i < count; ++i) std::fprintf(file, i > 0 ? ", %d" : "%d", numbers[i]);
    std::fputs("]}\n", file);
    std::fclose(file);
  }
};

const bool listens = [] {
  if (std::getenv("FARROWTIDE_REACHED") != nullptr) testing::UnitTest::GetInstance()->listeners().Append(new Listener);
  return true;
}();

}  // namespace
