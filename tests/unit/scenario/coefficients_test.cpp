#include "libsim/scenario/coefficients.hpp"

#include <gtest/gtest.h>

#include <chrono>

namespace farrowtide {
namespace {

TEST(Coefficients, BuiltInReads) {
  const auto begin = std::chrono::steady_clock::now();
  const Coefficients coefficients = Coefficients::built_in();
  std::cout << std::chrono::duration<double, std::milli>(std::chrono::steady_clock::now() - begin).count() << " ms\n";
  EXPECT_GT(coefficients.size(), 600u);
  EXPECT_EQ(coefficients.number("sow.appetite.curve.half_time", "d"), 4.898);
}

}  // namespace
}  // namespace farrowtide
