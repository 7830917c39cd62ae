#include "libsim/model/sow_mortality.hpp"

#include <algorithm>
#include <array>
#include <numeric>

#include "libsim/kernel/hazard.hpp"
#include "libsim/model/drinking.hpp"
#include "libsim/model/farrowing_room.hpp"
#include "libsim/model/litter_mortality.hpp"
#include "libsim/model/weaning.hpp"
#include "libsim/model/work.hpp"

namespace farrowtide {
namespace {

constexpr double longest_stay_d = 100;

SowLossInputs loss_inputs(const FarrowingRoom& room, const Sow& sow) {
  const bool farrowed = sow.farrowed.reached();
  return {.since_farrowing_d = (room.clock.now() - sow.traits.onset).days(),
          .farrowed = farrowed,
          .stillborn = farrowed ? sow.litter.stillborn : 0,
          .farrowing_duration_min = farrowed ? sow.farrowing_duration_min() : 0,
          .season = room.settings.season(static_cast<int>(room.clock.now().day())),
          .lame = sow.lame()};
}

// Teats that neither her piglets nor orphans on their way to her take; negative if there are more piglets than teats.
int spare_teats(const Sow& sow) {
  return sow.traits.functional_teats - sow.litter.nursing() - sow.litter.orphans_coming;
}

// How many more orphans she can be given.
int places(const FarrowingRoom& room, const Sow& sow) {
  if (!sow.farrowed.reached() || sow.left.reached()) return 0;
  return std::max(0, spare_teats(sow) + room.biology.orphans_above_teats);
}

// The sow that takes the next orphan: the one with the most spare teats, or where none has one, the one least above her
// teats and not yet as far above them as a litter can be. On ties, the first one; none if every udder is full.
Sow* recipient_of_orphan(FarrowingRoom& room) {
  const auto best = std::ranges::max_element(room.sows, {}, [&](const Sow& sow) { return places(room, sow); });
  return best == room.sows.end() || places(room, *best) == 0 ? nullptr : &*best;
}

// Calls in a nurse sow for orphans without room, if the fostering policy provides for one.
void call_nurse_sow(FarrowingRoom& room, int orphans) {
  int room_left = 0;
  for (const Sow& sow : room.sows) room_left += places(room, sow);
  if (orphans - room_left >= room.biology.nurse_sow_least_piglets &&
      room.nurse_sows() < room.settings.fostering->nurse_sows()) {
    room.take_in_nurse_sow();
  }
}

// Plans moves for her orphans, as far as there is room for them.
WorkOrder plan_rescue(FarrowingRoom& room, const Sow& dead) {
  WorkOrder moves = empty_order(room, TaskKind::foster_move);
  for (Piglet* orphan : dead.litter.sucklings) {
    Sow* recipient = recipient_of_orphan(room);
    if (!recipient) break;
    ++recipient->litter.orphans_coming;
    add_move(room, moves, *orphan, *recipient);
  }
  return moves;
}

// Her piglets are spread over the sows with spare teats as soon as staff have time; this is done even where the limit
// on moves is reached, against which they count. Piglets for which there is no room, or that are refused, die.
Process<> bring_to_other_sows(FarrowingRoom& room, Sow& dead) {
  const std::vector<Piglet*> orphans = dead.litter.sucklings;
  call_nurse_sow(room, dead.litter.nursing());
  WorkOrder moves = plan_rescue(room, dead);
  const std::vector<Visit> planned = moves.visits;
  if (!moves.visits.empty()) co_await carry_out(room, std::move(moves));
  for (const Visit& visit : planned) visit.sow->litter.orphans_coming -= static_cast<int>(visit.piglets.size());
  dead.litter.orphans_moved = static_cast<int>(
      std::ranges::count_if(orphans, [&](const Piglet* piglet) { return piglet->reared_by != &dead; }));
  dead.litter.orphans_lost = dead.litter.nursing();
  while (!dead.litter.sucklings.empty()) die(room, dead, *dead.litter.sucklings.front(), DeathCause::starved);
}

// What a sow may die of, with its hazard [1/d].
struct Danger {
  SowFate fate;
  double per_day;
};
using Dangers = std::array<Danger, 4>;

// Thirst rises with the hours; it is taken as constant over pieces this long.
constexpr double piece_of_thirst_d = 0.25;

Dangers dangers(const FarrowingRoom& room, const Sow& sow, const SowLossInputs& inputs) {
  const Biology& biology = room.biology;
  const double dry_d = days_without_water(room, sow);
  return {{{SowFate::died, biology.sow_loss.per_day(inputs)},
           {SowFate::died_of_thirst, is_dry(sow) ? biology.thirst.death_per_day(dry_d, dry_d + piece_of_thirst_d) : 0},
           {SowFate::died_of_hunger,
            biology.starvation.death_per_day(sow.body.protein_loss_share(), sow.body.loss_share())},
           {SowFate::died_of_heat, room.heat_death_per_day}}};
}

double per_day(const Dangers& all) {
  return std::accumulate(all.begin(), all.end(), 0.0,
                         [](double sum, const Danger& danger) { return sum + danger.per_day; });
}

// The cause, drawn in proportion to the hazards.
SowFate cause_of_death(FarrowingRoom& room, const Sow& sow, const SowLossInputs& inputs) {
  const Dangers all = dangers(room, sow, inputs);
  double left = per_day(all) * room.draws.uniform(Purpose::cause_of_sow_death, sow.entity());
  for (const Danger& danger : all) {
    left -= danger.per_day;
    if (left < 0 && danger.fate != SowFate::died) return danger.fate;
    if (left < 0) break;
  }
  const bool prolapse =
      room.biology.sow_loss.is_prolapse(inputs.since_farrowing_d, room.draws.uniform(Purpose::prolapse, sow.entity()));
  return prolapse ? SowFate::died_of_prolapse : SowFate::died;
}

void lose(FarrowingRoom& room, Sow& sow) {
  const SowFate fate = cause_of_death(room, sow, loss_inputs(room, sow));
  leave(room, sow, fate);
  room.records.event(room.now(), EventKind::sow_died, sow.number, -1, sow.litter.nursing(), static_cast<double>(fate));
}

}  // namespace

Process<> sow_mortality(FarrowingRoom& room, Sow& sow, ProcessRef her_stay) {
  if (room.settings.herd.health == Health::off) co_return;
  const double threshold = room.draws.exponential(Purpose::sow_death, sow.entity());
  const auto rate = [&room, &sow]() -> std::optional<HazardRate> {
    if (sow.left.reached()) return std::nullopt;
    const SowLoss& loss = room.biology.sow_loss;
    const SowLossInputs inputs = loss_inputs(room, sow);
    return HazardRate{.per_day = per_day(dangers(room, sow, inputs)),
                      .holds_for_d = std::min(loss.next_change_d(inputs.since_farrowing_d),
                                              is_dry(sow) ? piece_of_thirst_d : longest_stay_d),
                      .changed = &sow.risk_changed};
  };
  const bool dies = co_await threshold_reached(room.clock, threshold, rate, 1_s);
  if (!dies || sow.left.reached()) co_return;
  room.clock.stop(her_stay);
  lose(room, sow);
  co_await bring_to_other_sows(room, sow);
}

}  // namespace farrowtide
