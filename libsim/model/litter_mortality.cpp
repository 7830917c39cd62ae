#include "libsim/model/litter_mortality.hpp"

#include <algorithm>
#include <cmath>
#include <limits>
#include <vector>

#include "libsim/kernel/first_of.hpp"
#include "libsim/model/death_record.hpp"
#include "libsim/model/farrowing_room.hpp"
#include "libsim/model/litter_risks.hpp"

namespace farrowtide {
namespace {

constexpr Duration never = 3650_d;

double age_d(const Piglet& piglet, Time now) { return (now - piglet.born).days(); }

// The first whole second at or after `days` from now, so that everything due by then has occurred.
Time at_latest(Time now, double days) {
  return now + Duration{static_cast<std::int64_t>(std::ceil(std::min(days, never.days()) * 86400))};
}

// Recalculates the projected colostrum intakes. Until the last birth they rest on the births so far and the unborn
// piglets; a day after the last birth all colostrum has been drunk, and they are final.
void share_colostrum(const FarrowingRoom& room, Sow& sow) {
  const Biology& biology = room.biology;
  ColostrumShares& shares = sow.litter.colostrum;
  if (sow.litter.colostrum_is_over) return;
  sow.litter.colostrum_is_over = sow.farrowed.reached() && room.biology.colostrum_sharing.delivered(
                                                               (room.clock.now() - sow.labour.last_birth).hours()) >= 1;
  biology.colostrum_sharing.advance(shares, room.clock.now().since_start().hours());
  shares.mouths_to_come = sow.traits.total_born - sow.labour.births;
  const double duration_min = sow.farrowing_duration_min();
  const double mouths = sow.litter.born_alive + shares.mouths_to_come;
  shares.yield_g = biology.colostrum_yield(mouths, sow.litter.mean_birth_weight_kg, sow.traits.parity, duration_min,
                                           sow.litter.colostrum_z) *
                   (sow.labour.assisted ? biology.colostrum_yield.assisted_multiplier() : 1) *
                   biology.colostrum_chill(room.weather.climate().mean_deg_c);
  const double g_per_weight = biology.colostrum_sharing.g_per_weight(shares);
  for (Piglet* piglet : sow.litter.sucklings)
    piglet->colostrum_g =
        piglet->colostrum_before_g + biology.colostrum_sharing.projected_g(shares.piglets[piglet->teat], g_per_weight);
}

void set_rates(const FarrowingRoom& room, Sow& sow, Piglet& piglet, double litter_kg, double age,
               const LitterRisk& shared) {
  const PigletRisk risk = piglet_risk(room, sow, piglet, litter_kg, age);
  sow.litter.hazards.set_rates(piglet.slot, room.biology.survival(risk, shared));
  piglet.rates_until_age_d = shared.until_age_d;
  if (piglet.move_burden.log_hazard_until_age_d > age)
    piglet.rates_until_age_d = std::min(piglet.rates_until_age_d, piglet.move_burden.log_hazard_until_age_d);
}

// Stops its share of the colostrum and returns what it has drunk here [g].
double leave_udder(FarrowingRoom& room, Sow& sow, const Piglet& piglet) {
  return room.biology.colostrum_sharing.leave(sow.litter.colostrum, room.now().since_start().hours(), piglet.teat);
}

// Which hazards to recalculate: those of all piglets if the litter changed, otherwise only those of piglets that have
// reached an age boundary.
enum class Renew { all, come_of_age };

// Returns after how many days the first of the piglets reaches its next age boundary.
double renew_rates(FarrowingRoom& room, Sow& sow, Renew renew) {
  double boundary_after_d = never.days();
  if (room.settings.herd.mortality == Mortality::off) return boundary_after_d;
  const Survival& survival = room.biology.survival;
  const RearingRisk rearing = rearing_risk(room, sow);
  const double litter_kg = sow.litter.weight_kg();
  const Sow* dam = nullptr;  // of the piglet before
  LitterRisk shared{};
  for (Piglet* piglet : sow.litter.sucklings) {
    const double age = age_d(*piglet, room.now());
    if (renew == Renew::all || age >= piglet->rates_until_age_d) {
      if (piglet->dam != dam || survival.next_boundary_d(age) != shared.until_age_d) {
        dam = piglet->dam;
        shared = survival.of_litter(birth_risk(*dam), rearing, age);
      }
      set_rates(room, sow, *piglet, litter_kg, age, shared);
    }
    boundary_after_d = std::min(boundary_after_d, piglet->rates_until_age_d - age);
  }
  return boundary_after_d;
}

// Advances the hazards to now and applies deaths that are due; true if a piglet died.
bool apply_due_deaths(FarrowingRoom& room, Sow& sow) {
  Litter& litter = sow.litter;
  if (litter.hazards_at == room.now()) return false;
  const double elapsed_d = (room.now() - litter.hazards_at).days();
  litter.hazards_at = room.now();
  if (!litter.hazards.advance(elapsed_d)) return false;
  for (NextDeath next = litter.hazards.next(); next.after_d <= 0; next = litter.hazards.next()) {
    const auto dead =
        std::ranges::find_if(litter.sucklings, [&](const Piglet* piglet) { return piglet->slot == next.slot; });
    die(room, sow, **dead, next.cause);
  }
  return true;
}

}  // namespace

void die(FarrowingRoom& room, Sow& sow, Piglet& piglet, DeathCause cause) {
  Litter& litter = sow.litter;
  piglet.life = Life::dead;
  piglet.fate = PigletFate::died;
  piglet.cause = cause;
  piglet.age_at_death_d = age_d(piglet, room.now());
  if (room.records.holds_causes()) write_death(room, sow, piglet);
  piglet.colostrum_g = piglet.colostrum_before_g + leave_udder(room, sow, piglet);
  litter.hazards.remove(piglet.slot);
  std::erase(litter.sucklings, &piglet);
  ++litter.died;
  ++litter.dead_to_remove;
  room.records.event(room.now(), EventKind::piglet_died, sow.number, piglet.birth_rank, *piglet.age_at_death_d,
                     piglet.cause_code());
}

void come_alive(FarrowingRoom& room, Sow& dam, Piglet& piglet) {
  piglet.life = Life::alive;
  ++dam.litter.born_alive;
  piglet.thresholds[static_cast<std::size_t>(DeathCause::scours)] =
      room.draws.exponential(Purpose::threshold_scours, piglet.entity());
  join_litter(room, dam, piglet, piglet.thresholds);
}

void join_litter(FarrowingRoom& room, Sow& sow, Piglet& piglet, const PerCause& thresholds_left) {
  Litter& litter = sow.litter;
  const ColostrumSharing& sharing = room.biology.colostrum_sharing;
  apply_due_deaths(room, sow);
  const double now_h = room.now().since_start().hours();
  // Colostrum is drunk by the time since birth; for a fostered piglet, since the earlier of its own birth and the
  // recipient's last birth.
  const Time clock_start = piglet.born_to(sow) ? piglet.born : std::min(piglet.born, sow.labour.last_birth);
  piglet.teat = sharing.join(litter.colostrum, now_h,
                             {.share_weight = sharing.share_weight(
                                  piglet.birth_weight_kg, room.draws.normal(Purpose::colostrum_share, piglet.entity()),
                                  piglet.birth_rank, piglet.dam->traits.total_born, piglet.splay_legged),
                              .cap_g = std::max(0.0, sharing.cap_g(piglet.birth_weight_kg) - piglet.colostrum_before_g),
                              .clock_start_h = clock_start.since_start().hours()});
  piglet.slot = litter.hazards.add(thresholds_left);
  piglet.reared_by = &sow;
  litter.sucklings.push_back(&piglet);
  room.biology.usable_teats.nurse(litter.teats, std::max(0, sow.lactation_day(room.now().day())), litter.nursing());
  settle_litter(room, sow);
}

PerCause leave_litter(FarrowingRoom& room, Sow& sow, Piglet& piglet) {
  apply_due_deaths(room, sow);
  piglet.colostrum_before_g += leave_udder(room, sow, piglet);
  piglet.colostrum_g = piglet.colostrum_before_g;
  std::erase(sow.litter.sucklings, &piglet);
  const PerCause thresholds_left = sow.litter.hazards.remove(piglet.slot);
  settle_litter(room, sow);
  return thresholds_left;
}

void settle_litter(FarrowingRoom& room, Sow& sow) {
  apply_due_deaths(room, sow);
  share_colostrum(room, sow);
  const bool orphaned = sow.left.reached();  // her litter process has ended, and her piglets wait to be moved
  if (orphaned) renew_rates(room, sow, Renew::all);
  sow.litter_changed.fire();
}

// Recalculates the rates once per second with changes, after all changes in that second. A single wait covers the
// competing thresholds of all piglets, so threshold_reached of kernel/hazard.hpp is not used here.
Process<> litter_mortality(FarrowingRoom& room, Sow& sow) {
  double boundary_after_d = renew_rates(room, sow, Renew::all);
  for (;;) {
    const double after_d = std::min(sow.litter.hazards.next().after_d, boundary_after_d);
    const Time look_again = at_latest(room.now(), std::max(0.0, after_d));
    const auto first = co_await first_of(room.clock.until(look_again), sow.litter_changed.wait());
    const bool changed = first.which() == 1;
    const bool died = apply_due_deaths(room, sow);
    if (died) share_colostrum(room, sow);
    boundary_after_d = renew_rates(room, sow, changed || died ? Renew::all : Renew::come_of_age);
  }
}

}  // namespace farrowtide
