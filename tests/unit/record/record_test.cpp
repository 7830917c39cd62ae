// Tables keep what is put in; the ledger lets no breach pass; every event has words.
#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <set>
#include <string_view>
#include <vector>

#include "libsim/kernel/errors.hpp"
#include "libsim/policy/fostering/fostering.hpp"
#include "libsim/record/ledger.hpp"
#include "libsim/record/rows.hpp"
#include "libsim/record/words.hpp"

namespace farrowtide {
namespace {

TaskRow task(int sow, double minutes) {
  TaskRow row;
  row.sow = sow;
  row.minutes = minutes;
  return row;
}

const std::vector<double>& minutes_of(const Table& table) {
  for (std::size_t i = 0; i < table.infos().size(); ++i) {
    if (table.infos()[i].name == "minutes") return std::get<std::vector<double>>(table.column(i));
  }
  throw InternalError("no column minutes");
}

TEST(Table, KeepsRowsInOrderAndJoinsThoseOfAnother) {
  TableOf<TaskRow> one, other;
  one.add(task(1, 2.5));
  other.add(task(2, 3.5));
  other.add(task(3, 4.5));
  one.append(other);
  EXPECT_EQ(one.rows(), 3U);
  EXPECT_EQ(minutes_of(one), (std::vector{2.5, 3.5, 4.5}));
}

TEST(Table, RefusesRowsOfAnotherKind) {
  TableOf<TaskRow> tasks;
  const TableOf<SowRow> sows;
  EXPECT_THROW(tasks.append(sows), InternalError);
}

TEST(Table, MarksWhatIsMissing) {
  TableOf<TaskRow> tasks;
  tasks.add(TaskRow{});
  for (std::size_t i = 0; i < tasks.infos().size(); ++i) {
    if (tasks.infos()[i].name != "started_h") continue;
    EXPECT_TRUE(std::isnan(std::get<std::vector<double>>(tasks.column(i)).front()));
  }
}

template <class Row>
void expect_described() {
  std::set<std::string_view> names;
  for (const Field<Row>& field : Row::fields()) {
    EXPECT_TRUE(names.insert(field.info.name).second) << field.info.name << " twice";
    EXPECT_FALSE(field.info.unit.empty()) << field.info.name;
    EXPECT_FALSE(field.info.help.empty()) << field.info.name;
  }
}

TEST(Columns, HaveANameAUnitAndAMeaning) {
  expect_described<SowRow>();
  expect_described<SowDayRow>();
  expect_described<PigletRow>();
  expect_described<RoomHourRow>();
  expect_described<TaskRow>();
  expect_described<EventRow>();
}

using Names = std::vector<std::string_view>;

template <class Enum>
Names all_names() {
  return {NameTable<Enum>::all.begin(), NameTable<Enum>::all.end()};
}

template <class Row>
Names labels_of(std::string_view column) {
  const auto fields = Row::fields();
  const auto field = std::ranges::find(fields, column, [](const auto& one) { return one.info.name; });
  return {field->info.labels.begin(), field->info.labels.end()};
}

TEST(Columns, OfCategoriesSpellThemAsTheirEnumsDo) {
  EXPECT_EQ(labels_of<SowRow>("left_as"), all_names<SowFate>());
  EXPECT_EQ(labels_of<PigletRow>("fate"), all_names<PigletFate>());
  EXPECT_EQ(labels_of<PigletRow>("cause"), (Names{"-", "crushed", "starved or weak", "scours", "other"}));
  EXPECT_EQ(labels_of<TaskRow>("outcome"), all_names<TaskOutcome>());
  EXPECT_EQ(labels_of<EventRow>("what"), all_names<EventKind>());
}

TEST(Ledger, ThrowsOnEveryKindOfBreach) {
  Ledger ledger;
  EXPECT_NO_THROW(ledger.check_feed(1, 0));
  EXPECT_NO_THROW(ledger.check_energy(1, 20, 20 + 1e-10));
  EXPECT_NO_THROW(ledger.check_litter(1, 14, 14));
  EXPECT_NO_THROW(ledger.check_staff(100, 100));
  EXPECT_EQ(ledger.checks(), 4U);
  EXPECT_THROW(ledger.check_feed(1, 1), InternalError);
  EXPECT_THROW(ledger.check_energy(1, 20, 20.001), InternalError);
  EXPECT_THROW(ledger.check_energy(1, NAN, 20), InternalError);
  EXPECT_THROW(ledger.check_litter(1, 14, 13), InternalError);
  EXPECT_THROW(ledger.check_staff(100, 99), InternalError);
}

TEST(Words, TellEveryKindOfEventDifferently) {
  std::set<std::string> told;
  for (std::size_t kind = 0; kind < NameTable<EventKind>::size; ++kind) {
    const EventRow event{0, 30.5, static_cast<std::int32_t>(kind), 2, 3, 1, 1};
    const std::string words = in_words(event);
    EXPECT_EQ(words.rfind("day 1 06:30  sow 2: ", 0), 0U) << words;
    EXPECT_TRUE(told.insert(words).second) << words;
  }
}

TEST(Words, SayWhetherThereAreTeatsEnoughAndWhyPigletsAreLeftOver) {
  const auto told = [](EventKind what, double amount, double detail) {
    return in_words({0, 57, static_cast<std::int32_t>(what), -1, -1, amount, detail});
  };
  const std::string begin = "day 2 09:00  staff: ";
  EXPECT_EQ(told(EventKind::moves_planned, 62, 31),
            begin + "62 surplus piglets, 31 free teats on other sows: moves are planned");
  EXPECT_EQ(told(EventKind::moves_planned, 1, 0),
            begin + "1 surplus piglet, no free teats on other sows: moves are planned");
  EXPECT_EQ(told(EventKind::moves_planned, 0, 1),
            begin + "no surplus piglets, 1 free teat on another sow: moves are planned to even out or sort litters");
  EXPECT_EQ(told(EventKind::piglets_left_over, 3, static_cast<double>(LeftOver::too_old)),
            begin + "3 piglets are left without a teat: too old to be moved");
  std::set<std::string> reasons;
  for (std::size_t why = 0; why < FosteringPlan{}.left_over.size(); ++why)
    reasons.insert(told(EventKind::piglets_left_over, 1, static_cast<double>(why)));
  EXPECT_EQ(reasons.size(), FosteringPlan{}.left_over.size());
}

}  // namespace
}  // namespace farrowtide
