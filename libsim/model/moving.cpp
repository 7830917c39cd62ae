#include "libsim/model/moving.hpp"

#include <algorithm>
#include <vector>

#include "libsim/model/farrowing_room.hpp"
#include "libsim/model/litter_mortality.hpp"
#include "libsim/model/scouring.hpp"
#include "libsim/model/work.hpp"

namespace farrowtide {
namespace {

// The piglets nursing her, from light to heavy; ties are broken by dam and birth rank.
std::vector<Piglet*> by_weight(const Sow& sow) {
  std::vector<Piglet*> piglets = sow.litter.sucklings;
  std::ranges::sort(piglets, [](const Piglet* one, const Piglet* other) {
    if (one->weight_kg != other->weight_kg) return one->weight_kg < other->weight_kg;
    return one->entity() < other->entity();
  });
  return piglets;
}

std::vector<Piglet*> chosen(const Sow& sow, const PrescribedMove& move) {
  std::vector<Piglet*> piglets = by_weight(sow);
  const auto all = static_cast<std::ptrdiff_t>(piglets.size());
  const auto wanted = std::min(all, static_cast<std::ptrdiff_t>(move.piglets));
  const auto skipped = move.which == PrescribedMove::Which::lightest   ? 0
                       : move.which == PrescribedMove::Which::heaviest ? all - wanted
                                                                       : (all - wanted) / 2;
  return {piglets.begin() + skipped, piglets.begin() + skipped + wanted};
}

// Only a sow that has farrowed and is still in the room can accept piglets. One without a litter may refuse a new one
// or give it less milk; this is decided once for all piglets of a day.
bool accepts(FarrowingRoom& room, Sow& to) {
  if (!to.farrowed.reached() || to.left.reached()) return false;
  Litter& litter = to.litter;
  const int day = to.lactation_day(room.now().day());
  const auto occasion = static_cast<std::uint32_t>(room.now().day());
  const LitterAdoption& adoption = room.biology.litter_adoption;
  if (litter.nursing() > 0 || day <= 1) return true;
  if (adoption.refuses(room.draws.uniform(Purpose::litter_refused, to.entity(), occasion))) return false;
  litter.adoption_multiplier = adoption.milk_multiplier(room.draws.uniform(Purpose::milk_drops, to.entity(), occasion));
  return true;
}

// Whether the recipient has a usable teat that is not yet taken.
PreferredTeat teat_in(const FarrowingRoom& room, const Sow& to) {
  const int usable = room.biology.usable_teats(to.litter.teats, std::max(0, to.lactation_day(room.clock.now().day())));
  return to.litter.nursing() < usable ? PreferredTeat::unknown : PreferredTeat::taken;
}

void carry_disease(FarrowingRoom& room, const Piglet& piglet, const Sow& from, Sow& to, double age_d) {
  if (from.litter.scouring() == 0 || to.litter.has_scoured || to.litter.nursing() == 0) return;
  const double prevalence = static_cast<double>(from.litter.scouring()) / from.litter.nursing();
  const auto moves = static_cast<std::uint32_t>(piglet.moves);
  if (room.draws.uniform(Purpose::disease_moves, piglet.entity(), moves) <
      room.biology.disease_transfer.probability(age_d, prevalence)) {
    break_out(room, to);
  }
}

// Records a fostered-in piglet; piglets that arrive at the same time count as one group.
void note_stranger(FarrowingRoom& room, Sow& to, const Piglet& piglet) {
  Litter& litter = to.litter;
  if (litter.strangers_at != room.now()) {
    litter.strangers_at = room.now();
    litter.strangers = 0;
    litter.day_of_strangers = to.lactation_day(room.now().day());
    litter.expected_kg = litter.mean_at_midnight_kg > 0 ? litter.mean_at_midnight_kg : piglet.weight_kg;
  }
  ++litter.strangers;
  if (!piglet.born_to(to) && std::ranges::find(litter.sources, piglet.dam) == litter.sources.end())
    litter.sources.push_back(piglet.dam);
}

}  // namespace

bool move_piglet(FarrowingRoom& room, Piglet& piglet, Sow& to) {
  Sow& from = *piglet.reared_by;
  if (piglet.life == Life::alive) settle_litter(room, from);
  if (piglet.life != Life::alive || &from == &to) return false;  // e.g. it died before the visit
  if (!accepts(room, to)) return false;
  const double age_d = (room.now() - piglet.born).days();
  carry_disease(room, piglet, from, to, age_d);
  const PerCause thresholds_left = leave_litter(room, from, piglet);
  ++from.litter.moved_out;
  ++to.litter.moved_in;
  ++piglet.moves;
  piglet.move_burden = room.biology.move_effects(
      piglet.move_burden, {.age_d = age_d, .birth_weight_kg = piglet.birth_weight_kg, .teat = teat_in(room, to)});
  note_stranger(room, to, piglet);
  join_litter(room, to, piglet, thresholds_left);
  to.litter.stranger_mean_kg = to.litter.mean_kg();
  room.records.event(room.now(), EventKind::piglet_moved, to.number, piglet.birth_rank, piglet.dam->number,
                     piglet.weight_kg);
  return true;
}

Process<> move_as_prescribed(FarrowingRoom& room, PrescribedMove move) {
  co_await room.clock.until(room.begins + move.day * 1_d + move.time, Order::task);
  Sow& from = room.sows[static_cast<std::size_t>(move.from - 1)];
  Sow& to = room.sows[static_cast<std::size_t>(move.to - 1)];
  WorkOrder work = empty_order(room, TaskKind::foster_move);
  for (Piglet* piglet : chosen(from, move)) add_move(room, work, *piglet, to);
  if (!work.visits.empty()) co_await carry_out(room, std::move(work));
}

}  // namespace farrowtide
