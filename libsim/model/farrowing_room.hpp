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
  AppetiteClock clock_of_first_parity, clock_of_later_parities;  // of today
  double effective_temperature_deg_c = 0;                        // for appetite, today
  HerdDistributions herd;                                        // with the farm's own parities
  std::vector<Duty> duties;
  std::deque<Sow> sows;
  double staff_minutes_worked = 0;

 private:
  void add_sow(int number);
  void describe(Sow& sow, const DescribedSow& described);
  void induce(Sow& sow, double due_d);
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
double pending_meal_kg(const FarrowingRoom& room, Sow& sow);

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

// Sets the appetite of the day that begins, or of what is left of the farrowing day; or anew, when something changed
// it.
void set_appetite(FarrowingRoom& room, Sow& sow);
void change_appetite(FarrowingRoom& room, Sow& sow);

// Handling of her litter costs appetite for some hours; as a multiple of what it usually costs.
void disturb(FarrowingRoom& room, Sow& sow, double drop_multiplier);

// Water: a drinker may clog and is found out by a check; a first-parity sow may have to learn where to drink and eat.
Process<> clog(FarrowingRoom& room, Sow& sow);
Process<> learn(FarrowingRoom& room, Sow& sow);
void check_drinker(FarrowingRoom& room, Sow& sow);
double drinker_flow_l_per_min(const Sow& sow);                   // as it runs now
bool is_parched(const FarrowingRoom& room, const Sow& sow);      // without water for so long that she stops eating
double water_access(const FarrowingRoom& room, const Sow& sow);  // 0-1, until she has learned
double water_drunk_l(const FarrowingRoom& room, const Sow& sow, int lactation_day, double eaten_kg);  // in a day

// After the last birth: placenta, post-partum disorder, and what people find and do about it.
Process<> recover(FarrowingRoom& room, Sow& sow);
Process<> have_temperature_taken(FarrowingRoom& room, Sow& sow);
void take_temperature(FarrowingRoom& room, Sow& sow);
void look_for_signs(FarrowingRoom& room, Sow& sow);
void treat(FarrowingRoom& room, Sow& sow);

// Scours of her litter: when it breaks out, and at midnight which piglets are over it.
Process<> scour(FarrowingRoom& room, Sow& sow);
void break_out(FarrowingRoom& room, Sow& sow);
void let_scours_pass(FarrowingRoom& room, Sow& sow);

// A sow may die in the room, which ends her stay; her piglets are then brought to others.
Process<> face_loss(FarrowingRoom& room, Sow& sow, ProcessRef her_stay);

// Moves of piglets from sow to sow; false if the piglet has died or the sow refuses.
bool move_piglet(FarrowingRoom& room, Piglet& piglet, Sow& to);
Process<> move_as_prescribed(FarrowingRoom& room, PrescribedMove move);

// The next birth of her litter; help delivered it or not.
enum class Delivery { unaided, assisted };
void deliver(FarrowingRoom& room, Sow& sow, Delivery delivery, double interval_drawn_min);

// Somebody came to a sow: savable piglets may be revived, newborn ones count as attended.
void attend_births(FarrowingRoom& room, Sow& sow);
void care_for_newborn(FarrowingRoom& room, Sow& sow);

// Deals with the deaths up to now; the hazards are set anew within the same second.
void settle_litter(FarrowingRoom& room, Sow& sow);
// A piglet is born alive, or revived, and nurses its dam.
void come_alive(FarrowingRoom& room, Sow& dam, Piglet& piglet);
// A piglet begins to nurse a sow with what is left of its thresholds, or stops.
void join_litter(FarrowingRoom& room, Sow& sow, Piglet& piglet, const PerCause& thresholds_left);
PerCause leave_litter(FarrowingRoom& room, Sow& sow, Piglet& piglet);
void die(FarrowingRoom& room, Sow& sow, Piglet& piglet, DeathCause cause);

// The end of her stay, with her litter weaned or by her death: what it came to.
void wean(FarrowingRoom& room, Sow& sow);
void leave(FarrowingRoom& room, Sow& sow, SowFate fate);

// Her rows and those of the piglets born of her, when the group has left.
void write_rows(FarrowingRoom& room, Sow& sow);

}  // namespace farrowtide
