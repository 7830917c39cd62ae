// One farrowing room and its group, from loading to weaning: the state that all its processes share.
//
// Reading order: `stay` in farrowing_room.cpp (a sow's life in the room), then what it calls: eating.cpp, labour.cpp,
// nursing.cpp; midnight.cpp is the daily balance of the whole room, work.cpp what people do.
#pragma once

#include <cstdint>
#include <deque>
#include <memory>
#include <span>
#include <vector>

#include "libsim/kernel/resource.hpp"
#include "libsim/kernel/simulation.hpp"
#include "libsim/model/biology.hpp"
#include "libsim/model/purpose.hpp"
#include "libsim/model/room_records.hpp"
#include "libsim/model/room_settings.hpp"
#include "libsim/model/room_weather.hpp"
#include "libsim/model/sow.hpp"

namespace farrowtide {

class FarrowingRoom {
 public:
  // Settings and biology must outlive the room; rows go to `tables`.
  FarrowingRoom(const RoomSettings& room_settings, const Biology& room_biology, Draws room_draws, Recording recording,
                RoomTables& tables);

  // Runs the group from loading to the washed room. `watch` is called now and then; what it throws ends the run.
  void run(const Simulation::Callback& watch = {});

  Simulation& simulation() { return clock; }
  Time now() const { return clock.now(); }
  Time loading() const;  // when the sows are in their crates

  const RoomSettings& settings;
  const Biology& biology;
  const Draws draws;
  RoomRecords records;
  RoomWeather weather;
  AppetiteClockMaker appetite_clock;
  HerdDistributions herd;  // with the farm's own parities
  std::vector<Duty> duties;
  std::deque<Sow> sows;
  double staff_minutes_worked = 0;

 private:
  void add_sow(int number);
  void describe(Sow& sow, const DescribedSow& described);
  void refuse_unweaned() const;

 public:
  Resource staff;
  Simulation clock;  // last: it goes first, while what its processes refer to is still there
};

// A sow's stay, from loading to weaning.
Process<> stay(FarrowingRoom& room, Sow& sow);

// Meals: appetite comes along the clock of the day and she eats when there is enough of it and of feed.
Process<> eat(FarrowingRoom& room, Sow& sow);

// Appetite at which she starts her next meal by herself [kg].
double pending_meal_kg(const FarrowingRoom& room, const Sow& sow);

// Labour, birth by birth.
Process<> farrow(FarrowingRoom& room, Sow& sow);

// The litter's deaths, from the first birth to weaning.
Process<> nurse(FarrowingRoom& room, Sow& sow);

// The people: shifts, and the work that the clock asks for.
Process<> shifts(FarrowingRoom& room);
Process<> feed_by_the_clock(FarrowingRoom& room);
Process<> go_round_farrowings(FarrowingRoom& room);
Process<> daily_routine(FarrowingRoom& room);

// Midnight: the room's next 24 hours and every sow's appetite; then yesterday's balance of every sow and litter.
Process<> turn_days(FarrowingRoom& room);

// Sets the appetite of the day that begins, or of what is left of the farrowing day.
void set_appetite(FarrowingRoom& room, Sow& sow);

// The next birth of her litter; help delivered it or not.
enum class Delivery { unaided, assisted };
void deliver(FarrowingRoom& room, Sow& sow, Delivery delivery, double interval_drawn_min);

// Somebody came to a sow: savable piglets may be revived, newborn ones count as attended.
void attend_births(FarrowingRoom& room, Sow& sow);
void care_for_newborn(FarrowingRoom& room, Sow& sow);

// Deals with the deaths up to now and sets the hazards anew.
void settle_litter(FarrowingRoom& room, Sow& sow);
void join_litter(FarrowingRoom& room, Sow& sow, Piglet& piglet);

void wean(FarrowingRoom& room, Sow& sow);

}  // namespace farrowtide
