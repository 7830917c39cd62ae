#include <gtest/gtest.h>

#include "libsim/kernel/errors.hpp"
#include "libsim/model/curves/parity_class.hpp"
#include "libsim/model/curves/parity_table.hpp"

namespace farrowtide {
namespace {

TEST(ParityTable, LastEntryHoldsForAllLaterParities) {
  const Coefficients coefficients = Coefficients().with_file(
      "t: {value: [1, 2, 4], unit: kg, low: [1, 2, 4], high: [1, 2, 4], grade: C, source: assumption,"
      " axis: {name: parity, unit: \"-\", at: [1, 2, 3]}}",
      "sow");
  const ParityTable table(coefficients, "sow.t", "kg");
  EXPECT_EQ(table[1], 1);
  EXPECT_EQ(table[2], 2);
  EXPECT_EQ(table[3], 4);
  EXPECT_EQ(table[9], 4);
  EXPECT_THROW(table[0], InternalError);
}

TEST(ParityClass, FollowsTheAxisOfTheCoefficients) {
  const Coefficients coefficients = Coefficients::built_in();
  EXPECT_EQ(coefficients.axis_labels("litter.colostrum.sow_yield.parity_factor"),
            (std::vector<std::string>{"1", "2-4", "5+"}));
  EXPECT_EQ(parity_class(1), 0u);
  EXPECT_EQ(parity_class(2), 1u);
  EXPECT_EQ(parity_class(4), 1u);
  EXPECT_EQ(parity_class(5), 2u);
}

}  // namespace
}  // namespace farrowtide
