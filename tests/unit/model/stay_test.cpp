// A sow's stay as a whole: what must hold in any room, seen in what it records.
#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <map>
#include <numeric>
#include <string>
#include <utility>
#include <vector>

#include "libsim/model/planned_work.hpp"
#include "tests/unit/model/simulated_farm.hpp"

namespace farrowtide {
namespace {

constexpr const char* warm_chamber = "room: {crates: 8}\nclimate: {kind: imposed, temperature: 20}\n";

TEST(Stay, GoesFromLoadingThroughLabourToWeaning) {
  const SimulatedFarm room(std::string(warm_chamber) + "herd: {health: off}\n");
  for (int sow = 1; sow <= 8; ++sow) {
    std::vector<EventKind> order;
    for (const auto& event : room.events(sow)) {
      switch (event.what) {
        case EventKind::sow_loaded:
        case EventKind::labour_began:
        case EventKind::farrowing_finished:
        case EventKind::litter_weaned:
          order.push_back(event.what);
          break;
        default:
          break;
      }
    }
    EXPECT_EQ(order, (std::vector{EventKind::sow_loaded, EventKind::labour_began, EventKind::farrowing_finished,
                                  EventKind::litter_weaned}))
        << "sow " << sow;
  }
}

TEST(Stay, WeansTheGroupOnOneDayOrEachSowAfterHerOwnLactation) {
  const SimulatedFarm together(std::string(warm_chamber) + "group: {lactation_days: 21}\n");
  for (const auto& event : together.events()) {
    if (event.what != EventKind::litter_weaned) continue;
    EXPECT_EQ(std::floor(event.time_h / 24), 25) << "4 days to the mean due date and 21 more";
  }
  const SimulatedFarm each(std::string(warm_chamber) +
                           "group: {lactation_days: 21, weaning: each_sow}\nherd: {health: off}\n");
  for (const double length_d : each.column(each.tables().sows, "lactation_length_d")) EXPECT_EQ(length_d, 21);
}

std::vector<SowFate> fates(const SimulatedFarm& room) {
  std::vector<SowFate> fates;
  for (const double fate : room.column(room.tables().sows, "left_as"))
    fates.push_back(static_cast<SowFate>(static_cast<int>(fate)));
  return fates;
}

TEST(Stay, EndsWithTheRoomIfNobodyComesToWean) {
  const SimulatedFarm room(std::string(warm_chamber) + "herd: {health: off}\nstaff: {shifts: [{days: [tue]}]}\n");
  EXPECT_EQ(fates(room), std::vector(8, SowFate::weaned_late));
  for (const double piglets : room.column(room.tables().sows, "weaned")) EXPECT_GT(piglets, 0);
  int undone = 0;
  const auto kind = room.column(room.tables().tasks, "kind"), outcome = room.column(room.tables().tasks, "outcome");
  for (std::size_t i = 0; i < kind.size(); ++i) {
    if (static_cast<TaskKind>(static_cast<int>(kind[i])) != TaskKind::wean) continue;
    EXPECT_EQ(static_cast<TaskOutcome>(static_cast<int>(outcome[i])), TaskOutcome::undone);
    ++undone;
  }
  EXPECT_EQ(undone, 8);
}

TEST(Stay, OfALatecomerEndsBeforeTheRoomIsEmptied) {
  for (const int day : {12, 13, 14}) {
    const SimulatedFarm room(std::string(warm_chamber) +
                             "loading: {days_before_due: 2}\nherd: {health: off, every_sow: {farrows_on_day: " +
                             std::to_string(day) + "}}\ngroup: {lactation_days: 17, weaning: each_sow}\n");
    EXPECT_EQ(fates(room), std::vector(8, SowFate::weaned)) << "farrowing on day " << day;
  }
}

TEST(Stay, OfANurseSowEndsLikeThatOfTheOthers) {
  int nurses = 0;
  for (std::uint32_t replicate = 0; replicate < 40; ++replicate) {
    const SimulatedFarm room(
        "room: {crates: 12}\ngroup: {lactation_days: 17, weaning: each_sow}\n"
        "fostering: {kind: fill_teats, nurse_sows: 2}\nherd: {every_sow: {total_born: 20}}\n",
        replicate);
    const std::vector<SowFate> fate = fates(room);
    nurses += static_cast<int>(fate.size()) - 12;
    EXPECT_EQ(std::ranges::count(fate, SowFate::weaned_late), 0) << "replicate " << replicate;
  }
  EXPECT_GT(nurses, 0);
}

TEST(Labour, TakesTheSumOfItsIntervals) {
  const SimulatedFarm room(warm_chamber);
  std::map<int, double> sum_min;
  const auto& piglets = room.tables().piglets;
  const auto sow = room.column(piglets, "sow"), interval_min = room.column(piglets, "birth_interval_min");
  for (std::size_t i = 0; i < sow.size(); ++i)
    sum_min[static_cast<int>(sow[i])] += std::isnan(interval_min[i]) ? 0 : interval_min[i];
  const auto& sows = room.tables().sows;
  const auto number = room.column(sows, "sow"), duration_min = room.column(sows, "farrowing_duration_min");
  for (std::size_t i = 0; i < number.size(); ++i)
    EXPECT_NEAR(sum_min[static_cast<int>(number[i])], duration_min[i], 1e-6);
}

TEST(Eating, PausesAroundFarrowing) {
  const SimulatedFarm room(std::string(warm_chamber) + "feeding: {kind: full_access, from_day: -2}\n");
  for (int sow = 1; sow <= 8; ++sow) {
    const auto events = room.events(sow);
    const auto time_of = [&](EventKind what) {
      return std::ranges::find_if(events, [&](const auto& e) { return e.what == what; })->time_h;
    };
    const double began_h = time_of(EventKind::labour_began), finished_h = time_of(EventKind::farrowing_finished);
    int meals = 0;
    for (const auto& event : events) {
      if (event.what != EventKind::meal_eaten) continue;
      ++meals;
      EXPECT_TRUE(event.time_h < began_h - 2 || event.time_h >= finished_h + 2)
          << "sow " << sow << " ate at " << event.time_h;
    }
    EXPECT_GT(meals, 50);
  }
}

// One feed a day of 9 kg into a trough of 4 kg: what does not fit is neither offered nor forgotten.
TEST(Eating, NeverExceedsWhatTheTroughHoldsAndTheRestOfTheFeedIsCounted) {
  const SimulatedFarm room(
      "room: {crates: 8, trough_capacity: 4 kg}\nclimate: {kind: imposed, temperature: 20}\n"
      "feeding: {kind: hand, times: [\"07:00\"], allowance: {rule: flat, amount: 9 kg/d}}\nherd: {health: off}\n");
  const auto& days = room.tables().sow_days;
  const auto offered_kg = room.column(days, "offered_kg"), undelivered_kg = room.column(days, "undelivered_kg"),
             farrowed = room.column(days, "farrowed"), day = room.column(days, "day");
  double undelivered_sum_kg = 0;
  for (std::size_t i = 0; i < offered_kg.size(); ++i) {
    undelivered_sum_kg += undelivered_kg[i];
    if (farrowed[i] == 0 || day[i] == 0) continue;
    EXPECT_LE(offered_kg[i], 4.0) << "the trough holds 4 kg";
    EXPECT_NEAR(offered_kg[i] + undelivered_kg[i], 9, 1e-9) << "one feed a day";
  }
  EXPECT_GT(undelivered_sum_kg, 8 * 20 * 5);
  double told_kg = 0, sows_kg = 0;
  for (int sow = 1; sow <= 8; ++sow) {
    for (const auto& event : room.events(sow)) told_kg += event.what == EventKind::feed_delivered ? event.detail : 0;
  }
  for (const double kg : room.column(room.tables().sows, "feed_undelivered_kg")) sows_kg += kg;
  EXPECT_NEAR(told_kg, sows_kg, 1e-6);
  EXPECT_NEAR(sows_kg, undelivered_sum_kg + 8 * 5, 1e-6) << "5 kg of the feed of the day on which each left";
}

TEST(Eating, OfTheDefaultAllowanceEveryPortionFitsTheDefaultTrough) {
  const SimulatedFarm room(std::string(warm_chamber) + "herd: {every_sow: {parity: 1}}\n");
  EXPECT_LE(largest_portion(room.settings()).kg, room.settings().equipment.trough_capacity_kg);
}

double mean_intake_kg_per_day(const SimulatedFarm& room) {
  const auto kg_per_day = room.column(room.tables().sows, "feed_intake_kg_per_day");
  return std::accumulate(kg_per_day.begin(), kg_per_day.end(), 0.0) / static_cast<double>(kg_per_day.size());
}

TEST(Eating, StaleFeedCostsIntakeAndStarvesNobody) {
  const auto fed = [](const std::string& keys) {
    return mean_intake_kg_per_day(
        SimulatedFarm("room: {crates: 24, trough_capacity: 8 kg" + keys +
                      ", allowance: {rule: flat, amount: 9 kg/d}}\nclimate: {kind: imposed, temperature: 20}\n"));
  };
  const double daily = fed("}\nfeeding: {kind: hand"), never = fed("}\nfeeding: {kind: hand, remove_stale: never");
  EXPECT_LT(never, daily - 0.1);
  EXPECT_GT(never, 0.5 * daily) << "a hungry sow eats old feed";
  EXPECT_LT(fed(", feed_keeps: 4 h}\nfeeding: {kind: hand"), daily - 0.05);
}

// One feed a day against two, where the day's feed fits the trough: no difference to 3 % less (restricted sows of two
// trials lost as much with fewer feeds: ASAS Midwest 2015, abstract 153; ASAS 2022, abstract 247).
TEST(Eating, OneFeedADayCostsLittleWhereTheTroughHoldsIt) {
  const auto fed = [](const std::string& times) {
    return mean_intake_kg_per_day(
        SimulatedFarm("room: {crates: 100, trough_capacity: 9 kg}\nclimate: {kind: imposed, temperature: 20}\n"
                      "feeding: {kind: hand, times: [" +
                      times + "]}\n"));
  };
  const double two = fed("\"07:00\", \"15:00\""), one = fed("\"07:00\"");
  EXPECT_LE(one, 1.01 * two);
  EXPECT_GE(one, 0.97 * two);
}

TEST(Cleaning, IsDoneAtMostOnceADayBeforePouringAndRemovesOnlyStaleFeed) {
  const SimulatedFarm room(
      "room: {crates: 24}\nclimate: {kind: imposed, temperature: 24}\n"
      "feeding: {kind: hand, times: [\"07:00\", \"15:00\"], allowance: {rule: flat, amount: 9 kg/d}}\n");
  int cleanings = 0;
  for (int sow = 1; sow <= 24; ++sow) {
    double cleaned_h = -1, poured_kg_fit = 0;
    std::vector<std::pair<double, double>> poured;  // time [h], feed [kg]
    for (const auto& event : room.events(sow)) {
      if (event.what == EventKind::feed_delivered) poured.emplace_back(event.time_h, event.amount);
      if (event.what != EventKind::trough_cleaned) continue;
      ++cleanings;
      EXPECT_NE(std::floor(event.time_h / 24), std::floor(cleaned_h / 24)) << "sow " << sow << " at " << event.time_h;
      cleaned_h = event.time_h;
      // Feed is fit for 12 h at 20 degC, and in this room for 12 exp(-0.02 * 4) h.
      poured_kg_fit = 0;
      double poured_kg_stale = 0;
      for (const auto& [time_h, kg] : poured)
        (event.time_h - time_h < 12 * std::exp(-0.08) ? poured_kg_fit : poured_kg_stale) += kg;
      EXPECT_LE(event.amount, poured_kg_stale + 1e-9);
      EXPECT_EQ(poured_kg_fit, 0) << "sow " << sow << " at " << event.time_h << ": cleaned after fresh feed was poured";
      poured.clear();
    }
  }
  EXPECT_GT(cleanings, 200);
}

TEST(Litter, OfATrialWithoutMortalityIsWeanedWhole) {
  const SimulatedFarm room(
      std::string(warm_chamber) +
      "herd: {mortality: off, health: off, every_sow: {parity: 3, total_born: 11, weight: 230 kg, backfat: 16 mm}}\n");
  const auto& sows = room.tables().sows;
  for (const double weaned : room.column(sows, "weaned")) EXPECT_EQ(weaned, 11);
  for (const double parity : room.column(sows, "parity")) EXPECT_EQ(parity, 3);
}

TEST(Litter, GrowsByWhatItsDaysSay) {
  const SimulatedFarm room(std::string(warm_chamber) +
                           "herd: {mortality: off, health: off, every_sow: {total_born: 11}}\n");
  std::map<int, double> grown_kg, born_kg;
  const auto& days = room.tables().sow_days;
  const auto sow = room.column(days, "sow"), gain_kg = room.column(days, "litter_gain_kg");
  for (std::size_t i = 0; i < sow.size(); ++i) grown_kg[static_cast<int>(sow[i])] += gain_kg[i];
  const auto& piglets = room.tables().piglets;
  const auto dam = room.column(piglets, "sow"), birth_kg = room.column(piglets, "birth_weight_kg");
  for (std::size_t i = 0; i < dam.size(); ++i) born_kg[static_cast<int>(dam[i])] += birth_kg[i];
  const auto& sows = room.tables().sows;
  const auto number = room.column(sows, "sow"), weaned_kg = room.column(sows, "litter_weight_at_weaning_kg");
  for (std::size_t i = 0; i < number.size(); ++i) {
    const int n = static_cast<int>(number[i]);
    EXPECT_NEAR(weaned_kg[i], born_kg[n] + grown_kg[n], 1e-6)
        << "nothing lost in sharing: appetite caps bind on nobody here";
  }
}

TEST(Body, ChangesByWhatItsDaysSay) {
  const SimulatedFarm room(warm_chamber);
  std::map<int, double> lost_kg;
  const auto& days = room.tables().sow_days;
  const auto sow = room.column(days, "sow"), change_kg = room.column(days, "weight_change_kg"),
             farrowed = room.column(days, "farrowed");
  for (std::size_t i = 0; i < sow.size(); ++i) lost_kg[static_cast<int>(sow[i])] -= farrowed[i] > 0 ? change_kg[i] : 0;
  const auto& sows = room.tables().sows;
  const auto number = room.column(sows, "sow"), loss_kg = room.column(sows, "weight_loss_kg");
  for (std::size_t i = 0; i < number.size(); ++i) EXPECT_NEAR(loss_kg[i], lost_kg[static_cast<int>(number[i])], 1e-6);
}

TEST(Climate, IsWhatAChamberImposes) {
  const SimulatedFarm room("room: {crates: 2}\nclimate: {kind: imposed, temperature: 27}\n");
  for (const double deg_c : room.column(room.tables().room_hours, "temperature_deg_c")) EXPECT_EQ(deg_c, 27);
  for (const double deg_c : room.column(room.tables().room_hours, "set_point_deg_c")) EXPECT_EQ(deg_c, 27);
  const auto hour = room.column(room.tables().room_hours, "hour");
  for (std::size_t i = 0; i < hour.size(); ++i) EXPECT_EQ(hour[i], static_cast<double>(i));
}

TEST(Climate, HoldsItsSetPointInWinterByHeating) {
  const SimulatedFarm room("room: {crates: 24}\nstart: 2026-01-12\n");
  const auto& hours = room.tables().room_hours;
  const auto deg_c = room.column(hours, "temperature_deg_c"), set_point_deg_c = room.column(hours, "set_point_deg_c"),
             heater_kwh = room.column(hours, "heater_kwh");
  for (std::size_t i = 0; i < deg_c.size(); ++i) EXPECT_GT(deg_c[i], set_point_deg_c[i] - 1.5) << "hour " << i;
  EXPECT_GT(std::accumulate(heater_kwh.begin(), heater_kwh.end(), 0.0), 100);
}

// Level: 82-91 % of services end in a farrowing in the review values after Steverink 1999 (from memory) and a record of
// 13 farms; odds of not being pregnant 3.4-fold after farrowings over 300 min: Björkman, thesis, Helsinki.
TEST(Stay, LowersTheFarrowingRateAfterALongFarrowingOnly) {
  double sum[2] = {}, sows[2] = {};
  for (std::uint32_t replicate = 0; replicate < 8; ++replicate) {
    const SimulatedFarm room("room: {crates: 24}", replicate);
    const auto minutes = room.column(room.tables().sows, "farrowing_duration_min"),
               rate = room.column(room.tables().sows, "farrowing_rate");
    for (std::size_t i = 0; i < rate.size(); ++i) {
      if (std::isnan(rate[i]) || std::isnan(minutes[i])) continue;
      sum[minutes[i] > 300] += rate[i];
      ++sows[minutes[i] > 300];
    }
  }
  ASSERT_GT(sows[1], 10);
  EXPECT_GT(sum[0] / sows[0], 0.82);
  EXPECT_LT(sum[0] / sows[0], 0.88);
  EXPECT_LT(sum[1] / sows[1], 0.72);
}

TEST(Stay, GivesTheDaysToOestrusOfEverySowThatReturns) {
  const SimulatedFarm room("room: {crates: 24}\nclimate: {kind: imposed}\n");
  const auto& sows = room.tables().sows;
  const auto anoestrous = room.column(sows, "anoestrous"), days = room.column(sows, "weaning_to_oestrus_d"),
             left_as = room.column(sows, "left_as");
  int returned = 0;
  for (std::size_t i = 0; i < days.size(); ++i) {
    if (left_as[i] != 0) continue;
    EXPECT_EQ(std::isnan(days[i]), anoestrous[i] == 1) << "sow " << i + 1;
    returned += days[i] > 0;
  }
  EXPECT_GT(returned, 12) << "common practice, no source: most sows are in heat within a week";
}

TEST(Stay, TakesImposedIntakeAndLitterGainToTheGram) {
  const SimulatedFarm room(
      std::string(warm_chamber) +
      "herd: {health: off, mortality: off}\nimposed: {eaten: [3, 4.25, 5], litter_gain: [1.2, 1.8]}\n");
  const Table& days = room.tables().sow_days;
  const auto day = room.column(days, "day"), eaten = room.column(days, "eaten_kg"),
             gain = room.column(days, "litter_gain_kg"), farrowed = room.column(days, "farrowed");
  int compared = 0;
  for (std::size_t i = 0; i < day.size(); ++i) {
    if (day[i] < 1) continue;
    EXPECT_NEAR(eaten[i], day[i] == 1 ? 3 : day[i] == 2 ? 4.25 : 5, 1e-9);
    EXPECT_NEAR(gain[i], day[i] == 1 ? 1.2 : 1.8, 1e-9);
    ++compared;
  }
  EXPECT_GT(compared, 8 * 18);
}

TEST(Stay, GivesNoImposedGainThatNoPigletCanMakeOrNoSowCanFeed) {
  for (const char* eaten : {"0", "12"}) {
    const SimulatedFarm room(std::string(warm_chamber) +
                             "herd: {health: off, mortality: off, every_sow: {total_born: 2, backfat: 30 mm}}\n"
                             "imposed: {eaten: [" +
                             eaten + "], litter_gain: [8]}\n");
    for (const double kg : room.column(room.tables().sow_days, "weight_kg")) EXPECT_GT(kg, 95) << eaten << " kg/d";
    for (const double kg : room.column(room.tables().piglets, "weaning_weight_kg"))
      EXPECT_FALSE(kg > 16) << eaten << " kg/d";
  }
}

TEST(Stay, FollowsATemperatureImposedDayByDay) {
  const auto room_of = [](const char* from) {
    return SimulatedFarm(
        std::string("room: {crates: 2}\nclimate: {kind: imposed, temperature: 18, temperature_days: [20, 25, "
                    "30], days_from: ") +
        from + "}\n");
  };
  const auto by_day = [](const SimulatedFarm& farm) {
    const auto hourly = farm.column(farm.tables().room_hours, "temperature_deg_c");
    return std::vector{hourly[0], hourly[24], hourly[48], hourly[96], hourly[120], hourly[24 * 10]};
  };
  EXPECT_EQ(by_day(room_of("loading")), (std::vector{20.0, 25.0, 30.0, 30.0, 30.0, 30.0}));
  EXPECT_EQ(by_day(room_of("due_date")), (std::vector{18.0, 18.0, 18.0, 20.0, 25.0, 30.0}));
}

TEST(Stay, LoadsTheHerdThatTheScenarioDescribes) {
  const auto mean = [](const SimulatedFarm& farm, const Table& table, const char* name) {
    const auto values = farm.column(table, name);
    return std::accumulate(values.begin(), values.end(), 0.0) / static_cast<double>(values.size());
  };
  const SimulatedFarm usual("room: {crates: 200}"),
      own("room: {crates: 200}\n"
          "herd: {total_born_mean: 17, total_born_sd: 1, weight_level: 1.1, backfat_mean: 18, backfat_sd: 1, "
          "birth_weight_mean: 1.2, birth_weight_sd: 0.1, lameness_level: 2, stillbirth_level: 1.5}");
  const auto sows_of = [&](const char* name) {
    return std::pair{mean(usual, usual.tables().sows, name), mean(own, own.tables().sows, name)};
  };
  EXPECT_NEAR(sows_of("total_born").second, 17, 0.8);
  EXPECT_GT(sows_of("leg_trouble").second, 2 * sows_of("leg_trouble").first);
  EXPECT_GT(sows_of("stillborn").second, 2 * sows_of("stillborn").first);
  const auto birth_kg = [&](const SimulatedFarm& farm) { return mean(farm, farm.tables().piglets, "birth_weight_kg"); };
  EXPECT_NEAR(birth_kg(usual) - birth_kg(own),
              0.26 + 0.03 * (sows_of("total_born").second - sows_of("total_born").first) * 0.925, 0.04);
}

}  // namespace
}  // namespace farrowtide
