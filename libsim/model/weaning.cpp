#include "libsim/model/weaning.hpp"

#include <algorithm>
#include <cmath>
#include <optional>

#include "libsim/model/farrowing_room.hpp"

namespace farrowtide {
namespace {

LactationPast lactation_past(const Biology& biology, const Sow& sow) {
  const LactationDays lactation(sow.days, sow.reference_day());
  const LactationDays early = lactation.until(biology.removal_risk.window_last_day());
  const auto length_d = static_cast<double>(sow.departure->at.day() - *sow.day_0);
  return {.parity = sow.traits.parity,
          .piglets = static_cast<double>(sow.litter.nursing()),
          .intake_kg_per_day = lactation.mean(&SowDay::eaten_kg),
          .lactation_length_d = length_d,
          .weight_loss_pct = sow.body.weight_loss_percent(),
          .weight_loss_kg_per_day = sow.body.weight_loss_kg() / length_d,
          .farrowing_duration_min = sow.farrowing_duration_min(),
          .early_intake_kg_per_day = early.mean(&SowDay::eaten_kg),
          .zero_feed_day_early = early.count_without_feed() > 0,
          .effective_temperature_deg_c = lactation.mean(&SowDay::effective_temperature_deg_c),
          .lame = sow.lame()};
}

// Empty for a nurse sow that leaves on the day she came, because nothing is known of her lactation.
std::optional<NextCycle> next_cycle(const FarrowingRoom& room, const Sow& sow) {
  const Biology& biology = room.biology;
  const LactationPast past = lactation_past(biology, sow);
  if (std::isnan(past.intake_kg_per_day)) return {};
  const std::optional<int> interval_d =
      biology.weaning_to_oestrus(past, room.draws.uniform(Purpose::oestrus, sow.entity()));
  NextCycle next{.removal_risk = biology.removal_risk(past, interval_d)};
  if (interval_d) {
    next.weaning_to_oestrus_d = static_cast<double>(*interval_d);
    next.farrowing_rate = biology.farrowing_rate(past, *interval_d);
    next.total_born_change = biology.next_total_born(past, biology.usual_weight_loss_kg_per_day);
  }
  return next;
}

}  // namespace

void leave(FarrowingRoom& room, Sow& sow, SowFate fate) {
  Departure& departure = sow.departure.emplace(Departure{.fate = fate, .at = room.now()});
  if (is_weaned(fate)) {
    departure.weaned = sow.litter.nursing();
    departure.litter_weight_kg = sow.litter.weight_kg();
    departure.next_cycle = next_cycle(room, sow);
  }
  sow.left.reach();
  sow.risk_changed.fire();
}

void wean(FarrowingRoom& room, Sow& sow, SowFate fate) {
  for (Piglet* piglet : sow.litter.sucklings) {
    piglet->fate = PigletFate::weaned;
    piglet->weaning_weight_kg = piglet->weight_kg;
    piglet->age_at_weaning_d = (room.now() - piglet->born).days();
  }
  leave(room, sow, fate);
  room.records.event(room.now(), EventKind::litter_weaned, sow.number, -1, *sow.departure->litter_weight_kg,
                     sow.departure->weaned);
}

}  // namespace farrowtide
