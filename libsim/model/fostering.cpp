#include "libsim/model/fostering.hpp"

#include <algorithm>
#include <utility>
#include <vector>

#include "libsim/model/farrowing_room.hpp"
#include "libsim/model/work.hpp"

namespace farrowtide {
namespace {

struct Picture {
  FosteringView view;
  std::vector<Sow*> sows;        // in the order of view.litters
  std::vector<Piglet*> piglets;  // in the order of view.piglets
};

LitterView litter_view(const FarrowingRoom& room, const Sow& sow) {
  return {.sow = sow.number,
          .parity = sow.traits.parity,
          .teats = sow.traits.functional_teats,
          .nursing = sow.litter.nursing() + sow.litter.orphans_coming,
          .lactation_day = sow.lactation_day(room.clock.now().day()),
          .since_farrowing_h = (room.clock.now() - sow.labour.last_birth).hours(),
          .mean_kg = sow.litter.mean_kg(),
          .scouring = sow.litter.scouring() > 0,
          .sow_ill = sow.health.treatment_asked.has_value(),
          .brought_to_nurse = sow.traits.nurse};
}

// The current state of every sow that has farrowed and of every piglet nursing one.
Picture picture(FarrowingRoom& room) {
  Picture picture;
  for (Sow& sow : room.sows) {
    picture.view.born_alive += sow.litter.born_alive;
    picture.view.moved += static_cast<int>(
        std::ranges::count_if(sow.litter.piglets, [](const Piglet& piglet) { return piglet.moves > 0; }));
    if (!sow.farrowed.reached() || sow.left.reached()) continue;
    const int place = static_cast<int>(picture.sows.size());
    picture.sows.push_back(&sow);
    picture.view.litters.push_back(litter_view(room, sow));
    std::vector<Piglet*> piglets = sow.litter.sucklings;
    std::ranges::sort(piglets, {}, &Piglet::entity);
    for (Piglet* piglet : piglets) {
      picture.piglets.push_back(piglet);
      picture.view.piglets.push_back({.litter = place,
                                      .weight_kg = piglet->weight_kg,
                                      .age_h = (room.now() - piglet->born).hours(),
                                      .moves = piglet->moves,
                                      .scouring = piglet->scouring});
    }
  }
  return picture;
}

// Records the plan; piglets left over are recorded only if their numbers have changed since the last plan.
void write(FarrowingRoom& room, const FosteringPlan& plan) {
  if (!plan.moves.empty()) {
    room.records.event(room.now(), EventKind::moves_planned, -1, -1, plan.surplus_piglets, plan.free_teats);
  }
  if (std::exchange(room.left_over_at_last_plan, plan.left_over) == plan.left_over) return;
  for (std::size_t why = 0; why < plan.left_over.size(); ++why) {
    if (plan.left_over[why] == 0) continue;
    room.records.event(room.now(), EventKind::piglets_left_over, -1, -1, plan.left_over[why], static_cast<double>(why));
  }
}

}  // namespace

void foster(FarrowingRoom& room) {
  if (room.clock.alive(room.moves_under_way)) return;  // they would change the state the plan starts from
  const Picture now = picture(room);
  if (now.piglets.empty()) return;
  const FosteringPlan plan = room.settings.fostering->plan(now.view);
  if (plan.surplus_piglets - plan.free_teats >= room.biology.nurse_sow_least_piglets &&
      room.nurse_sows() < room.settings.fostering->nurse_sows()) {
    room.take_in_nurse_sow();  // the next plan includes her
  }
  write(room, plan);
  if (plan.moves.empty()) return;
  WorkOrder work = empty_order(room, TaskKind::foster_move);
  for (const FosterMove& move : plan.moves) {
    add_move(room, work, *now.piglets[static_cast<std::size_t>(move.piglet)],
             *now.sows[static_cast<std::size_t>(move.to)]);
  }
  room.moves_under_way = ask_staff(room, std::move(work));
}

}  // namespace farrowtide
