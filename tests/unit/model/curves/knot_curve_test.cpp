#include "libsim/model/curves/knot_curve.hpp"

#include <gtest/gtest.h>

#include "libsim/kernel/errors.hpp"

namespace farrowtide {
namespace {

TEST(KnotCurve, IsLinearBetweenKnotsAndFlatOutside) {
  const KnotCurve curve{{1, 2, 4}, {10, 20, 0}};
  EXPECT_EQ(curve(0), 10);
  EXPECT_EQ(curve(1.5), 15);
  EXPECT_EQ(curve(2), 20);
  EXPECT_EQ(curve(3), 10);
  EXPECT_EQ(curve(9), 0);
  EXPECT_THROW(KnotCurve({1, 1}, {2, 3}), InternalError);
  EXPECT_THROW(KnotCurve({1, 2}, {3}), InternalError);
}

TEST(KnotCurve, ReadsATableOverItsOwnAxis) {
  const Coefficients coefficients = Coefficients().with_file(
      "t: {value: [10, 20], unit: kg, low: [10, 20], high: [10, 20], grade: C, source: assumption,"
      " axis: {name: day, unit: d, at: [1, 3]}}",
      "sow");
  const KnotCurve curve(coefficients, "sow.t", "kg");
  EXPECT_EQ(curve(1), 10);
  EXPECT_EQ(curve(2), 15);
  EXPECT_EQ(curve(3), 20);
}

}  // namespace
}  // namespace farrowtide
