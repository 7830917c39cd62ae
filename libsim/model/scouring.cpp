#include "libsim/model/scouring.hpp"

#include <algorithm>

#include "libsim/kernel/hazard.hpp"
#include "libsim/model/farrowing_room.hpp"
#include "libsim/model/litter_mortality.hpp"

namespace farrowtide {

void break_out(FarrowingRoom& room, Sow& sow) {
  const Scours& scours = room.biology.scours;
  sow.litter.has_scoured = true;
  const Time nearest_midnight = (room.now() + 12_h).start_of_day();
  for (Piglet* piglet : sow.litter.sucklings) {
    if (!scours.takes(sow.traits.parity, room.draws.uniform(Purpose::scours_attack, piglet->entity()))) continue;
    piglet->scouring = true;
    piglet->has_scoured = true;
    const int days = scours.days_ill(room.draws.uniform(Purpose::scours_length, piglet->entity()));
    piglet->scours_until = nearest_midnight + scours.untreated_days(days) * 1_d;
    piglet->scours_until_if_treated = nearest_midnight + days * 1_d;
    ++sow.litter.scoured;
  }
  room.records.event(room.now(), EventKind::scours_began, sow.number, -1, sow.litter.scouring());
  settle_litter(room, sow);
}

void treat_scours(FarrowingRoom&, Sow& sow) {
  for (Piglet* piglet : sow.litter.sucklings) {
    if (piglet->scouring) piglet->scours_until = piglet->scours_until_if_treated;
  }
}

void let_scours_pass(FarrowingRoom& room, Sow& sow) {
  for (Piglet* piglet : sow.litter.sucklings) {
    if (!piglet->scouring) continue;
    ++piglet->days_scoured;
    piglet->scouring = piglet->scours_until > room.now();
  }
}

// The hazard is piecewise constant by day, starting with the rest of the farrowing day, and ends when the litter is
// past the age at risk.
Process<> scour(FarrowingRoom& room, Sow& sow) {
  if (room.settings.herd.health == Health::off) co_return;
  const double threshold = room.draws.exponential(Purpose::litter_scours, sow.entity());
  const auto rate = [&room, &sow, day = 0]() mutable -> std::optional<HazardRate> {
    const bool was_ill = sow.health.fell_ill.has_value();
    const double per_day =
        room.biology.scours.onset_per_day({day, sow.traits.parity, was_ill, room.settings.herd.scours});
    if (day > 1 && per_day <= 0) return std::nullopt;
    ++day;
    const Time tomorrow = room.now().start_of_day() + 1_d;
    return HazardRate{.per_day = per_day, .holds_for_d = (tomorrow - room.now()).days()};
  };
  const bool breaks_out = co_await threshold_reached(room.clock, threshold, rate);
  if (breaks_out && !sow.litter.has_scoured && sow.litter.nursing() > 0) break_out(room, sow);
}

}  // namespace farrowtide
