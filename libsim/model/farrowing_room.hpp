// One farrowing room and its group, from loading to weaning: the state that all its processes share.
//
// Reading order: `stay` in farrowing_room.cpp (a sow's life in the room), then what it calls: eating.cpp, labour.cpp,
// litter_mortality.cpp; midnight.cpp is the daily balance of the whole room, work.cpp what people do.
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

namespace farrowtide {

class Farm;

class FarrowingRoom {
 public:
  FarrowingRoom(Farm& whose_farm, GroupInRoom group_in_room);

  void begin();  // on the day of loading: everybody's processes
  void close();  // at its end: writes the rows

  // A sow from elsewhere on the farm, whose own litter is weaned, comes in to nurse surplus piglets.
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
  AppetiteClock clock_of_first_parity, clock_of_later_parities;  // of today
  double effective_temperature_deg_c = 0;                        // for appetite, today
  HerdDistributions herd;                                        // with the farm's own parities
  std::deque<Sow> sows;
  ProcessRef moves_under_way;  // planned and not carried out yet
  decltype(FosteringPlan::left_over) left_over_at_last_plan{};

  // A calendar day as a day of the group, whose day of loading is 0.
  int nurse_sows() const { return static_cast<int>(sows.size()) - settings.sows(); }  // taken in so far
  int day_of_group(std::int64_t calendar_day) const { return static_cast<int>(calendar_day) - group.loading_day; }

 private:
  void add_sow(int number);
  void describe(Sow& sow, const DescribedSow& described);
  void induce(Sow& sow, double due_d);
};

// A sow's stay, from loading to weaning; and that of one that is brought in to nurse.
Process<> stay(FarrowingRoom& room, Sow& sow);
Process<> stay_as_nurse(FarrowingRoom& room, Sow& sow);

// Meals: appetite comes along the clock of the day and she eats when there is enough of it and of feed.
Process<> eat(FarrowingRoom& room, Sow& sow);

// Appetite at which she starts her next meal by herself [kg].
double pending_meal_kg(const FarrowingRoom& room, Sow& sow);

// What her litter's survival owes to her and to itself, and lactation from the day of her last birth.
void draw_frailty(FarrowingRoom& room, Sow& sow);
void begin_lactation(FarrowingRoom& room, Sow& sow);

// Labour, birth by birth.
Process<> farrow(FarrowingRoom& room, Sow& sow);

// The litter's deaths, from the first birth to weaning.
Process<> litter_mortality(FarrowingRoom& room, Sow& sow);

// The work that the clock asks for.
Process<> feed_by_the_clock(FarrowingRoom& room);
Process<> go_round_farrowings(FarrowingRoom& room);
Process<> daily_routine(FarrowingRoom& room);
Process<> look_at_machines(FarrowingRoom& room);
Process<> go_round_standing_up(FarrowingRoom& room);
Process<> foster_by_plan(FarrowingRoom& room);

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
enum class Suspicion { none, of_the_drinker };  // that something is wrong with her water
bool is_drinker_due(const FarrowingRoom& room, const Sow& sow, Suspicion suspicion);
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
void flag(FarrowingRoom& room, Sow& sow);  // her trough was untouched
void treat(FarrowingRoom& room, Sow& sow);

// Scours of her litter: when it breaks out, and at midnight which piglets are over it.
Process<> scour(FarrowingRoom& room, Sow& sow);
void break_out(FarrowingRoom& room, Sow& sow);
void let_scours_pass(FarrowingRoom& room, Sow& sow);

// A sow may die in the room, which ends her stay; her piglets are then brought to others.
Process<> sow_mortality(FarrowingRoom& room, Sow& sow, ProcessRef her_stay);

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
