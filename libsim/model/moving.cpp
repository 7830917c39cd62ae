#include <algorithm>
#include <vector>

#include "libsim/model/farrowing_room.hpp"
#include "libsim/model/work.hpp"

namespace farrowtide {
namespace {

// Her sucklings from light to heavy; equals by dam and birth.
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

}  // namespace

void move_piglet(FarrowingRoom& room, Piglet& piglet, Sow& to) {
  if (piglet.life != Life::alive) return;  // died while somebody was on the way
  Sow& from = *piglet.reared_by;
  const PerCause thresholds_left = leave_litter(room, from, piglet);
  ++from.litter.moved_out;
  ++to.litter.moved_in;
  ++piglet.row.moves;
  join_litter(room, to, piglet, thresholds_left);
  room.records.event(room.now(), EventKind::piglet_moved, to.number, piglet.birth_rank, piglet.dam->number,
                     piglet.weight_kg);
}

Process<> move_as_prescribed(FarrowingRoom& room, PrescribedMove move) {
  co_await room.clock.until(Time{} + move.day * 1_d + move.time, Order::task);
  Sow& from = room.sows[static_cast<std::size_t>(move.from - 1)];
  Sow& to = room.sows[static_cast<std::size_t>(move.to - 1)];
  WorkOrder work = empty_order(room, TaskKind::foster_move);
  for (Piglet* piglet : chosen(from, move)) add_move(room, work, *piglet, to);
  if (!work.visits.empty()) co_await carry_out(room, std::move(work));
}

}  // namespace farrowtide
