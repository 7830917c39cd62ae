// Rules that every attendance policy keeps, run over the whole catalogue. A policy without cases fails.
#include "libsim/policy/attendance/attendance.hpp"
#include "tests/contract/policy_family.hpp"

namespace farrowtide {
namespace {

const PolicyFamily<AttendancePolicy>& attendance() {
  static const PolicyFamily<AttendancePolicy> family{
      "rounds",
      attendance_catalogue(),
      {{"rounds",
        {"{kind: rounds}", "{kind: rounds, round_every: 5 min, night_people: 1}",
         "{kind: rounds, round_every: 4 h, care_intensity: 0}",
         "{kind: rounds, help_after: 20 min, help_again_after: 1 h, care_intensity: 1}"}},
       {"close_watch",
        {"{kind: close_watch}", "{kind: close_watch, look_every: 5 min, worry_after: 5 min}",
         "{kind: close_watch, round_every: 10 min, look_every: 2 h, worry_after: 90 min, night_people: 5}"}},
       {"present",
        {"{kind: present}", "{kind: present, round_every: 15 min, night_people: 1}",
         "{kind: present, help_after: 20 min, care_intensity: 1}"}},
       {"none", {"{kind: none}"}}}};
  return family;
}

// Sows in labour that differ in one thing only: how long ago the last birth, or the last look, was.
std::vector<LabourView> views() {
  std::vector<LabourView> all;
  for (const int exams : {0, 1, 4}) {
    for (const std::optional<double> look_min : {std::optional<double>{}, std::optional(10.0), std::optional(70.0)}) {
      for (int waited_min = 0; waited_min <= 300; waited_min += 5) {
        all.push_back({.births = 4,
                       .exams = exams,
                       .since_first_birth_min = waited_min + 60.0,
                       .since_last_birth_min = static_cast<double>(waited_min),
                       .since_last_look_min = look_min});
      }
    }
  }
  return all;
}

TEST(AttendanceContract, RoundsComeAtPositiveTimesAndHelpOnlyWithThem) {
  attendance().for_every([](const AttendancePolicy& policy) {
    const auto every = policy.round_every();
    EXPECT_GT(every.value_or(1_h), 0_s);
    for (const LabourView& view : views()) {
      EXPECT_TRUE(every || !policy.look_at(view));
      EXPECT_TRUE(every || !policy.help(view));
    }
  });
}

TEST(AttendanceContract, TheLongerASowWaitsTheSoonerSheIsSeenAndHelped) {
  attendance().for_every([](const AttendancePolicy& policy) {
    const std::vector<LabourView> all = views();
    for (std::size_t i = 1; i < all.size(); ++i) {
      const LabourView &before = all[i - 1], &after = all[i];
      EXPECT_EQ(policy.help(after), policy.help(after)) << "the same view, another decision";
      if (after.since_last_birth_min < before.since_last_birth_min) continue;  // another sow
      EXPECT_TRUE(policy.help(after) || !policy.help(before)) << after.since_last_birth_min;
      EXPECT_TRUE(policy.look_at(after) || !policy.look_at(before)) << after.since_last_birth_min;
    }
  });
}

TEST(AttendanceContract, ASowThatNobodyHasSeenIsLookedAtOnTheFirstRound) {
  attendance().for_every(
      [](const AttendancePolicy& policy) { EXPECT_EQ(policy.look_at({}), policy.round_every().has_value()); });
}

TEST(AttendanceContract, NobodyIsExaminedWithinMinutesOfABirth) {
  attendance().for_every([](const AttendancePolicy& policy) {
    for (const int exams : {0, 1, 4})
      EXPECT_FALSE(policy.help({.births = 3, .exams = exams, .since_last_birth_min = 5}));
  });
}

TEST(AttendanceContract, StaffAndCareStayWithinTheirRangesAndASentenceSaysSo) {
  attendance().for_every([](const AttendancePolicy& policy) {
    EXPECT_GE(policy.night_people(), 0);
    EXPECT_GE(policy.care_intensity(), 0);
    EXPECT_LE(policy.care_intensity(), 1);
    EXPECT_GT(policy.describe().size(), 10u);
    EXPECT_EQ(policy.describe().find("at night") != std::string::npos, policy.night_people() > 0);
  });
}

TEST(AttendanceContract, ExamsAndNightWorkComeWithTheCaution) {
  for (const char* key : {"help_after", "help_again_after"}) {
    EXPECT_NE(attendance().help(key).find("herd veterinarian and local rules decide"), std::string::npos) << key;
  }
  EXPECT_NE(attendance().help("night_people").find("Working alone at night is a hazard"), std::string::npos);
}

// Common practice, no source: rounds every 30 min, an exam 60 min after the last birth and then 15 min after it.
TEST(FarrowingRounds, StandardIsTheTradesRule) {
  const auto policy = attendance().policy("{}");
  EXPECT_EQ(policy->round_every(), 30_min);
  EXPECT_EQ(policy->night_people(), 0);
  struct Row {
    int exams;
    double waited_min;
    bool helped;
  };
  for (const Row& row :
       {Row{0, 59.9, false}, Row{0, 60, true}, Row{1, 14.9, false}, Row{1, 15, true}, Row{3, 15, true}})
    EXPECT_EQ(policy->help({.exams = row.exams, .since_last_birth_min = row.waited_min}), row.helped)
        << row.exams << " exams, " << row.waited_min << " min";
  for (const LabourView& view : views()) EXPECT_TRUE(policy->look_at(view));
}

TEST(AttendanceContract, WhoeverStaysAlsoGoesRoundAndHelps) {
  attendance().for_every([](const AttendancePolicy& policy) {
    if (!policy.stays()) return;
    EXPECT_TRUE(policy.round_every().has_value());
    EXPECT_TRUE(policy.help({.births = 3, .since_last_birth_min = 240}));
  });
  EXPECT_TRUE(attendance().policy("{kind: present}")->stays());
  EXPECT_FALSE(attendance().policy("{}")->stays());
}

TEST(CloseWatch, PassesBySowsSeenLatelyWhoseBirthsFollowEachOther) {
  const auto policy = attendance().policy("{kind: close_watch, look_every: 60 min, worry_after: 30 min}");
  EXPECT_FALSE(policy->look_at({.since_last_birth_min = 29, .since_last_look_min = 44}));
  EXPECT_TRUE(policy->look_at({.since_last_birth_min = 29, .since_last_look_min = 46})) << "the next is 15 min later";
  EXPECT_TRUE(policy->look_at({.since_last_birth_min = 30, .since_last_look_min = 1}));
  EXPECT_TRUE(policy->look_at({.since_last_birth_min = 1})) << "nobody has seen her";
  EXPECT_LT(*attendance().policy("{kind: close_watch}")->round_every(), *attendance().policy("{}")->round_every());
}

// A round takes some minutes to reach her: what counts is when the next one would.
TEST(CloseWatch, SeesEverySowAsOftenAsPlainRounds) {
  const auto close = attendance().policy("{kind: close_watch}"), rounds = attendance().policy("{}");
  const double delay_min = 5;
  EXPECT_TRUE(
      close->look_at({.since_last_birth_min = 1, .since_last_look_min = rounds->round_every()->minutes() - delay_min}));
}

}  // namespace
}  // namespace farrowtide
