#include <algorithm>
#include <cmath>
#include <limits>

#include "libsim/kernel/any_of.hpp"
#include "libsim/model/farrowing_room.hpp"

namespace farrowtide {
namespace {

constexpr Duration never = 3650_d;

double age_d(const Piglet& piglet, Time now) { return (now - piglet.born).days(); }

// The first whole second at or after `days` from now: by then what is due has happened.
Time at_latest(Time now, double days) {
  return now + Duration{static_cast<std::int64_t>(std::ceil(std::min(days, never.days()) * 86400))};
}

// Shares the colostrum anew, as far as can be told now: until the last birth by the births so far and the unborn. A day
// after the last birth all of it is drunk.
void share_colostrum(const FarrowingRoom& room, Sow& sow) {
  const Biology& biology = room.biology;
  ColostrumShares& shares = sow.litter.colostrum;
  if (sow.litter.colostrum_is_over) return;
  sow.litter.colostrum_is_over = sow.farrowed.reached() && room.biology.colostrum_sharing.delivered(
                                                               (room.clock.now() - sow.labour.last_birth).hours()) >= 1;
  biology.colostrum_sharing.advance(shares, room.clock.now().since_start().hours());
  shares.mouths_to_come = sow.total_born - sow.labour.births;
  const double duration_min = (sow.labour.last_birth - sow.onset).minutes();
  const double mouths = sow.litter.born_alive + shares.mouths_to_come;
  shares.yield_g = biology.colostrum_yield(mouths, sow.parity, duration_min, sow.litter.colostrum_z) *
                   (sow.labour.assisted ? biology.colostrum_yield.assisted_multiplier() : 1) *
                   biology.colostrum_chill(room.weather.climate().mean_deg_c);
  for (Piglet& piglet : sow.litter.piglets) {
    if (piglet.life == Life::alive) piglet.colostrum_g = biology.colostrum_sharing.projected_g(shares, piglet.teat);
  }
}

// How much lighter it is than the mean of its mates.
double kg_below_mates(const Piglet& piglet, double litter_kg, int nursing) {
  return nursing > 1 ? std::max(0.0, (litter_kg - piglet.weight_kg) / (nursing - 1) - piglet.weight_kg) : 0;
}

RearingRisk rearing_risk(const FarrowingRoom& room, const Sow& sow) {
  const Litter& litter = sow.litter;
  const Time now = room.clock.now();
  const int day = sow.lactation_day(now.day());
  return {.parity = sow.parity,
          .rear_frailty = litter.rear_frailty,
          .middle_frailty = litter.middle_frailty,
          .late_frailty = litter.late_frailty,
          .herd_frailty = 0,
          .room_deg_c = room.weather.climate().mean_deg_c,
          .surplus_piglets = std::max(0.0, static_cast<double>(litter.nursing() - sow.functional_teats)),
          .bad_start = room.biology.litter_start.starvation_hazard_ratio(day, sow.start_kind) > 1};
}

void set_rates(const FarrowingRoom& room, Sow& sow, Piglet& piglet, double litter_kg, const BirthRisk& birth,
               const RearingRisk& rearing) {
  Litter& litter = sow.litter;
  const double age = age_d(piglet, room.clock.now());
  const PigletRisk risk{.birth_weight_kg = piglet.birth_weight_kg,
                        .colostrum_g = piglet.colostrum_g,
                        .sex = piglet.sex,
                        .kg_below_mates = kg_below_mates(piglet, litter_kg, litter.nursing()),
                        .care = piglet.care_log_hazard,
                        .splay_legged = piglet.splay_legged};
  litter.hazards.set_rates(piglet.slot, room.biology.survival(risk, birth, rearing, age));
  piglet.rates_until_age_d = room.biology.survival.next_boundary_d(age);
}

BirthRisk birth_risk(const Sow& sow) {
  return {.gestation_d = sow.gestation_length_d,
          .stillborn = sow.litter.stillborn,
          .total_born = sow.total_born,
          .farrowing_duration_min = (sow.labour.last_birth - sow.onset).minutes(),
          .frailty = sow.litter.birth_frailty};
}

void die(FarrowingRoom& room, Sow& sow, Piglet& piglet, DeathCause cause) {
  Litter& litter = sow.litter;
  piglet.life = Life::dead;
  piglet.row.fate = static_cast<std::int32_t>(PigletFate::died);
  piglet.row.cause = 1 + static_cast<std::int32_t>(cause);
  piglet.row.age_at_death_d = age_d(piglet, room.now());
  piglet.row.colostrum_g =
      room.biology.colostrum_sharing.leave(litter.colostrum, room.now().since_start().hours(), piglet.teat);
  litter.hazards.remove(piglet.slot);
  ++litter.died;
  ++litter.dead_to_remove;
  room.records.event(room.now(), EventKind::piglet_died, sow.number, piglet.birth_rank, piglet.row.age_at_death_d,
                     piglet.row.cause);
}

// Which hazards to set anew: of all when something in the litter changed, else of those that came of an age.
enum class Renew { all, come_of_age };

void renew_rates(FarrowingRoom& room, Sow& sow, Renew renew) {
  const BirthRisk birth = birth_risk(sow);
  const RearingRisk rearing = rearing_risk(room, sow);
  const double litter_kg = sow.litter.weight_kg();
  for (Piglet& piglet : sow.litter.piglets) {
    if (piglet.life != Life::alive) continue;
    if (renew == Renew::all || age_d(piglet, room.now()) >= piglet.rates_until_age_d)
      set_rates(room, sow, piglet, litter_kg, birth, rearing);
  }
}

// Lets the hazards run up to now; true if a piglet died.
bool reap(FarrowingRoom& room, Sow& sow) {
  Litter& litter = sow.litter;
  litter.hazards.advance((room.now() - litter.hazards_at).days());
  litter.hazards_at = room.now();
  bool died = false;
  for (NextDeath next = litter.hazards.next(); next.after_d <= 0; next = litter.hazards.next()) {
    const auto dead = std::ranges::find_if(
        litter.piglets, [&](const Piglet& p) { return p.life == Life::alive && p.slot == next.slot; });
    die(room, sow, *dead, next.cause);
    died = true;
  }
  return died;
}

Time next_look(const FarrowingRoom& room, const Sow& sow) {
  const Litter& litter = sow.litter;
  double after_d = litter.hazards.next().after_d;
  for (const Piglet& piglet : litter.piglets) {
    if (piglet.life == Life::alive)
      after_d = std::min(after_d, piglet.rates_until_age_d - age_d(piglet, room.clock.now()));
  }
  return at_latest(room.clock.now(), std::max(0.0, after_d));
}

}  // namespace

double Litter::weight_kg() const {
  double sum_kg = 0;
  for (const Piglet& piglet : piglets) {
    if (piglet.life == Life::alive) sum_kg += piglet.weight_kg;
  }
  return sum_kg;
}

void join_litter(FarrowingRoom& room, Sow& sow, Piglet& piglet) {
  Litter& litter = sow.litter;
  const auto entity = sow.entity_of(piglet.birth_rank);
  const ColostrumSharing& sharing = room.biology.colostrum_sharing;
  reap(room, sow);
  piglet.life = Life::alive;
  ++litter.born_alive;
  const double now_h = room.now().since_start().hours();
  piglet.teat = sharing.join(
      litter.colostrum, now_h,
      {.share_weight = sharing.share_weight(piglet.birth_weight_kg, room.draws.normal(Purpose::colostrum_share, entity),
                                            piglet.birth_rank, sow.total_born, piglet.splay_legged),
       .cap_g = sharing.cap_g(piglet.birth_weight_kg),
       .clock_start_h = piglet.born.since_start().hours()});
  PerCause thresholds;
  thresholds[static_cast<std::size_t>(DeathCause::crushed)] = piglet.row.threshold_crushed;
  thresholds[static_cast<std::size_t>(DeathCause::starved)] = piglet.row.threshold_starved;
  thresholds[static_cast<std::size_t>(DeathCause::scours)] = room.draws.exponential(Purpose::threshold_scours, entity);
  thresholds[static_cast<std::size_t>(DeathCause::other)] = piglet.row.threshold_other;
  piglet.slot = litter.hazards.add(thresholds);
  settle_litter(room, sow);
}

void settle_litter(FarrowingRoom& room, Sow& sow) {
  reap(room, sow);
  share_colostrum(room, sow);
  if (room.settings.herd.mortality == Mortality::on) renew_rates(room, sow, Renew::all);
  sow.litter_changed.fire();
}

Process<> nurse(FarrowingRoom& room, Sow& sow) {
  for (;;) {
    const Time look_again = next_look(room, sow);
    const auto first = co_await any_of(room.clock.until(look_again), sow.litter_changed.wait());
    if (room.settings.herd.mortality == Mortality::off) continue;
    const bool changed = first.which() == 1;
    const bool died = reap(room, sow);
    if (died) share_colostrum(room, sow);
    renew_rates(room, sow, changed || died ? Renew::all : Renew::come_of_age);
  }
}

}  // namespace farrowtide
