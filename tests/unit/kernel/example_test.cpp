// A whole model on one screen: four sows, two pens, one stockperson who works from six to two.
#include <gtest/gtest.h>

#include <string>
#include <vector>

#include "libsim/kernel/resource.hpp"
#include "libsim/kernel/simulation.hpp"

namespace farrowtide {
namespace {

TEST(Example, TwoPenWardReadsLikeALife) {
  struct Barn {
    Simulation clock;
    Resource pens{clock, 2};
    Resource staff{clock, 0};
    std::vector<std::string> diary;

    Simulation& simulation() { return clock; }
    void note(std::string what) { diary.push_back(what + ", " + to_string(clock.now())); }
  } barn;

  const auto shift = [](Barn& b) -> Process<> {
    for (;;) {
      co_await b.clock.until(next_time_of_day(b.clock.now(), 6_h));
      b.staff.set_capacity(1, ShiftEnd::hand_over);
      co_await b.clock.until(next_time_of_day(b.clock.now(), 14_h));
      b.staff.set_capacity(0, ShiftEnd::hand_over);
    }
  };
  const auto stay = [](Barn& b, int sow) -> Process<> {
    auto pen = co_await b.pens.acquire();
    co_await b.clock.delay(10_h);  // in the pen
    auto person = co_await b.staff.acquire_within(24_h);
    co_await person.serve(3_h);  // the pen is washed before the next sow comes
    b.note("sow " + std::to_string(sow));
  };
  barn.clock.spawn(shift(barn), Order::environment);
  for (int sow = 1; sow <= 4; ++sow) barn.clock.spawn(stay(barn, sow).named("stay of sow", sow));
  barn.clock.run_until(Time{4_d});

  // Both are out at ten; sow 2 is washed for an hour, handed over at two, and for two more hours on day 1.
  EXPECT_EQ(barn.diary, (std::vector<std::string>{"sow 1, day 0 13:00:00", "sow 2, day 1 08:00:00",
                                                  "sow 3, day 1 11:00:00", "sow 4, day 2 09:00:00"}));
}

}  // namespace
}  // namespace farrowtide
