// One farrowing room and its group, from loading to weaning: the state that all its processes share.
//
// Reading order: `stay` in farrowing_room.cpp (a sow's stay in the room), then what it calls: eating.cpp, labour.cpp,
// litter_mortality.cpp. midnight.cpp holds the daily balance of the whole room, work.cpp the work of the staff. Each of
// these files declares in its own header what the others call.
#pragma once

#include <cstdint>
#include <deque>
#include <memory>
#include <span>
#include <vector>

#include "libsim/kernel/resource.hpp"
#include "libsim/kernel/simulation.hpp"
#include "libsim/model/biology.hpp"
#include "libsim/model/farm_settings.hpp"
#include "libsim/model/purpose.hpp"
#include "libsim/model/room_records.hpp"
#include "libsim/model/room_weather.hpp"
#include "libsim/model/sow.hpp"
#include "libsim/model/sow_traits.hpp"

namespace farrowtide {

class Farm;

class FarrowingRoom {
 public:
  FarrowingRoom(Farm& whose_farm, GroupInRoom group_in_room);

  void begin();  // on the day of loading: starts the processes of the room and of every sow
  void close();  // at the end: writes the rows

  // Brings in a sow from elsewhere on the farm, whose own litter is weaned, to nurse surplus piglets.
  void take_in_nurse_sow();

  Simulation& simulation() { return clock; }
  Time now() const { return clock.now(); }
  Time loading() const;                                                  // when the sows are in their crates
  Time end() const { return begins + (settings.last_day() + 1) * 1_d; }  // when it must be washed and dry

  Farm& farm;
  Simulation& clock;
  Resource& staff;
  const GroupInRoom group;
  const Time begins;  // 00:00 of the day of loading
  const FarmSettings& settings;
  const Biology& biology;
  const Draws draws;
  RoomRecords records;
  RoomWeather weather;
  AppetiteClockMaker appetite_clock;
  const TroughRules trough_rules;
  AppetiteClock clock_of_first_parity, clock_of_later_parities;  // of today
  double effective_temperature_deg_c = 0;                        // for appetite, today
  double heat_death_per_day = 0;                                 // of a sow, today
  SowGenerator generate_sow;
  BirthWeight birth_weight;  // of this herd
  std::deque<Sow> sows;
  Signal labour_began;
  int people_watching = 0;     // who stay with the sows in labour
  ProcessRef moves_under_way;  // foster moves planned but not yet completed
  decltype(FosteringPlan::left_over) left_over_at_last_plan{};

  int nurse_sows() const { return static_cast<int>(sows.size()) - settings.sows(); }  // brought in so far
  // Converts a calendar day to a day of the group; the day of loading is 0.
  int day_of_group(std::int64_t calendar_day) const { return static_cast<int>(calendar_day) - group.loading_day; }

 private:
  Sow& add_sow(int number, const SowTraits& traits);
};

// The stay of a sow from loading to weaning, and that of a nurse sow.
Process<> stay(FarrowingRoom& room, Sow& sow);
Process<> stay_as_nurse(FarrowingRoom& room, Sow& sow);

}  // namespace farrowtide
