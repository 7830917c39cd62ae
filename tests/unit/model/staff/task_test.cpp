#include "libsim/model/staff/task.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <set>
#include <string>

#include "libsim/scenario/coefficients.hpp"

namespace farrowtide {
namespace {

const Coefficients coefficients = Coefficients::built_in();

template <class Do>
void for_every_task(Do&& act) {
  for (std::size_t i = 0; i < NameTable<TaskKind>::size; ++i) act(static_cast<TaskKind>(i));
}

TEST(TaskKind, HasANameOfItsOwn) {
  std::set<std::string_view> names;
  for_every_task([&](TaskKind kind) { EXPECT_TRUE(names.insert(name_of(kind)).second) << name_of(kind); });
}

TEST(TaskRanks, PutHelpFirstAndClosingWorkLast) {
  const TaskRanks rank{coefficients};
  EXPECT_EQ(rank(TaskKind::assist), 1);
  EXPECT_TRUE(facts_of(TaskKind::assist).urgency == Urgency::pre_empts);
  const TaskKind falling[] = {TaskKind::assist,       TaskKind::newborn_care,  TaskKind::treat_sow,
                              TaskKind::feed_by_hand, TaskKind::drinker_check, TaskKind::trough_clean,
                              TaskKind::foster_move,  TaskKind::stand_up,      TaskKind::processing,
                              TaskKind::remove_dead,  TaskKind::wash};
  for (std::size_t i = 1; i < std::size(falling); ++i) EXPECT_LT(rank(falling[i - 1]), rank(falling[i])) << i;
  EXPECT_EQ(rank(TaskKind::newborn_care), rank(TaskKind::farrowing_round));
  EXPECT_EQ(rank(TaskKind::full_access_top_up), rank(TaskKind::feed_by_hand));
  for_every_task([&](TaskKind kind) {
    EXPECT_TRUE(kind == TaskKind::assist || facts_of(kind).urgency == Urgency::routine) << name_of(kind);
    EXPECT_GE(rank(kind), 1) << name_of(kind);
    EXPECT_LE(rank(kind), 11) << name_of(kind);
  });
}

TEST(TaskDue, DependsOnTheKindOfWork) {
  const TaskDue due{coefficients};
  const Time next_group{9_d};
  const Time asked = Time{2_d + 8_h};
  const Time shift_ends = Time{2_d + 16_h};
  EXPECT_EQ(due(TaskKind::feed_by_hand, asked, shift_ends, next_group), asked + 60_min);
  EXPECT_EQ(due(TaskKind::farrowing_round, asked, shift_ends, next_group), shift_ends);
  EXPECT_EQ(due(TaskKind::temperature_check, asked, shift_ends, next_group), shift_ends);
  EXPECT_EQ(due(TaskKind::processing, asked, shift_ends, next_group), asked + 24_h);
  EXPECT_EQ(due(TaskKind::foster_move, asked, shift_ends, next_group), Time{3_d});
  EXPECT_EQ(due(TaskKind::wash, asked, shift_ends, next_group), next_group);
}

TEST(TaskTimes, AreTriangular) {
  const TaskTimes times{coefficients};
  for_every_task([&](TaskKind kind) {
    const double least = times.minutes(kind, 1e-12);
    const double most = times.minutes(kind, 1 - 1e-12);
    EXPECT_GT(least, 0) << name_of(kind);
    EXPECT_LT(least, most) << name_of(kind);
    // Mean of the inverse over even steps against the closed form.
    double sum = 0;
    double before = 0;
    constexpr int steps = 20000;
    for (int i = 0; i < steps; ++i) {
      const double minutes = times.minutes(kind, (i + 0.5) / steps);
      ASSERT_GE(minutes, before) << name_of(kind);
      sum += before = minutes;
    }
    EXPECT_NEAR(sum / steps, times.mean_minutes(kind), 1e-6 * most) << name_of(kind);
  });
}

// Danish labour note 1838 (2018): 1.41 min timed per piglet processed; the coefficient's mean is 1.53 (its spread is
// assumed, and skewed), so the tolerance is that of its note.
TEST(TaskTimes, OfProcessingIsNearTheTimedOne) {
  EXPECT_NEAR(TaskTimes{coefficients}.mean_minutes(TaskKind::processing), 1.41, 0.15);
}

TEST(TaskTimes, OfAssistFollowTheirCorners) {
  const TaskTimes times{coefficients};
  EXPECT_NEAR(times.mean_minutes(TaskKind::assist), 9, 1e-12);  // 4, 8 and 15 min
  EXPECT_NEAR(times.minutes(TaskKind::assist, 4.0 / 11), 8, 1e-12);
  EXPECT_NEAR(times.minutes(TaskKind::full_access_top_up, 0.3), times.minutes(TaskKind::feed_by_drop, 0.3), 0);
  EXPECT_NEAR(times.spread_gilt_walk_minutes(), 0.4, 1e-12);
}

}  // namespace
}  // namespace farrowtide
