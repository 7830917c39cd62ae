#include "libsim/model/litter/teats.hpp"

#include <gtest/gtest.h>

#include "libsim/scenario/coefficients.hpp"

namespace farrowtide {
namespace {

const UsableTeats usable{Coefficients::built_in()};

TEST(UsableTeats, AreAllFunctionalOnesUntilDayFour) {
  TeatUse use{.functional = 14, .suckled_on_day = {}};
  for (int day = 0; day < 4; ++day) {
    EXPECT_EQ(usable(use, day), 14);
    usable.nurse(use, day, 11);
  }
  EXPECT_EQ(usable(use, 4), 11);
}

TEST(UsableTeats, DryOffThreeDaysAfterAPigletDied) {
  TeatUse use{.functional = 14, .suckled_on_day = {}};
  for (int day = 0; day <= 6; ++day) usable.nurse(use, day, 12);
  for (int day = 7; day <= 9; ++day) {
    EXPECT_EQ(usable(use, day), 12) << day;
    usable.nurse(use, day, 10);
  }
  EXPECT_EQ(usable(use, 10), 10);
  usable.nurse(use, 10, 13);
  EXPECT_EQ(usable(use, 11), 10) << "a dry teat stays dry";
}

TEST(UsableTeats, AreKeptByAPigletThatComesInTime) {
  TeatUse use{.functional = 14, .suckled_on_day = {}};
  for (int day = 0; day <= 4; ++day) usable.nurse(use, day, 12);
  for (int day = 5; day <= 6; ++day) usable.nurse(use, day, 11);
  usable.nurse(use, 7, 11);
  usable.nurse(use, 7, 12);  // fostered on later that day
  EXPECT_EQ(usable(use, 8), 12);
}

TEST(UsableTeats, AreNeverMoreThanFunctional) {
  TeatUse use{.functional = 13, .suckled_on_day = {}};
  for (int day = 0; day < 20; ++day) usable.nurse(use, day, 16);
  EXPECT_EQ(usable(use, 20), 13);
}

TEST(UsableTeats, AreNoneAfterAllPigletsLeft) {
  TeatUse use{.functional = 13, .suckled_on_day = {}};
  for (int day = 0; day < 5; ++day) usable.nurse(use, day, 12);
  EXPECT_EQ(usable(use, 7), 12);
  EXPECT_EQ(usable(use, 8), 0);
}

}  // namespace
}  // namespace farrowtide
