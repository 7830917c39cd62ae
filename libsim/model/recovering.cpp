#include "libsim/model/recovering.hpp"

#include <utility>

#include "libsim/kernel/hazard.hpp"
#include "libsim/model/appetite_of_day.hpp"
#include "libsim/model/drinking.hpp"
#include "libsim/model/farrowing_room.hpp"
#include "libsim/model/litter_mortality.hpp"
#include "libsim/model/seeing_intake.hpp"
#include "libsim/model/work.hpp"

namespace farrowtide {
namespace {

double since_farrowing_h(const FarrowingRoom& room, const Sow& sow) {
  return (room.clock.now() - sow.labour.last_birth).hours();
}

double disorder_probability(const FarrowingRoom& room, const Sow& sow) {
  return room.biology.disorder_risk.probability(
      {.farrowing_duration_min = sow.farrowing_duration_min(),
       .assisted = sow.labour.assisted,
       .stillborn = sow.litter.stillborn,
       .placenta_late =
           sow.health.placenta->retained || room.biology.placenta.is_late(sow.health.placenta->expelled_after_min),
       .pre_farrow_feed_kg_per_day = sow.feeding.before_farrowing_kg_per_day,
       .backfat_mm = sow.body.backfat_at_farrowing_mm,
       .room_deg_c = room.weather.climate().mean_deg_c,
       .constipated = room.biology.constipation.is_constipated(constipation_score(room, sow)),
       .days_in_room = (sow.traits.onset - room.loading()).days(),
       .sow_logit = sow.traits.effects.health_logit,
       .herd_logit = room.settings.herd.health_level_logit});
}

// Updates appetite and hazards at once after a change in her health.
void change_health(FarrowingRoom& room, Sow& sow) {
  change_appetite(room, sow);
  settle_litter(room, sow);
}

Process<> pass_placenta(FarrowingRoom& room, Sow& sow) {
  const PlacentaState placenta = *sow.health.placenta;
  co_await room.clock.delay(Duration::from_minutes(placenta.expelled_after_min));
  room.records.event(room.now(), EventKind::placenta_out, sow.number, -1, placenta.expelled_after_min,
                     placenta.retained ? 1 : 0);
}

// Recovery from the disorder: early treatment speeds it up more than late treatment, and only the first one counts.
Process<> recover_from_disorder(FarrowingRoom& room, Sow& sow) {
  const double threshold = room.draws.exponential(Purpose::recovery, sow.entity());
  const auto rate = [&room, &sow, treated = false]() mutable -> std::optional<HazardRate> {
    const DisorderCourse& course = room.biology.disorder_course;
    if (!std::exchange(treated, true))
      return HazardRate{.per_day = course.recovery_per_day(Treatment::none), .changed = &sow.health.treatment};
    const double waited_h = (room.now() - *sow.health.fell_ill).hours();
    return HazardRate{
        .per_day = course.recovery_per_day(waited_h < course.late_after_h() ? Treatment::early : Treatment::late)};
  };
  co_await threshold_reached(room.clock, threshold, rate);
}

// The course of the disorder from its onset.
Process<> be_ill(FarrowingRoom& room, Sow& sow) {
  HealthState& health = sow.health;
  health.severity = room.biology.illness_severity(room.draws.normal(Purpose::disorder_severity, sow.entity()));
  health.fell_ill = room.now();
  room.records.event(room.now(), EventKind::fell_ill, sow.number, -1, health.severity);
  change_health(room, sow);
  co_await recover_from_disorder(room, sow);
  health.recovered = room.now();
  room.records.event(room.now(), EventKind::recovered, sow.number, -1, (room.now() - *health.fell_ill).days());
  change_health(room, sow);
}

Process<> recover_legs(FarrowingRoom& room, Sow& sow) {
  const double after_d =
      room.biology.leg_trouble.recovers_after_d(room.draws.exponential(Purpose::leg_recovery, sow.entity()));
  if (after_d > (room.end() - room.now()).days()) co_return;
  co_await room.clock.delay(Duration::from_days(after_d));
  if (sow.left.reached()) co_return;
  sow.health.legs_recovered = true;
  sow.risk_changed.fire();
  if (sow.farrowed.reached()) change_health(room, sow);
}

CareView care_view(const FarrowingRoom& room, const Sow& sow) {
  CareView view{.parity = sow.traits.parity,
                .lactation_day = sow.lactation_day(room.clock.now().day()),
                .piglets = sow.litter.nursing(),
                .since_farrowing_h = sow.farrowed.reached() ? since_farrowing_h(room, sow) : 0,
                .farrowing_duration_min = sow.farrowed.reached() ? sow.farrowing_duration_min() : 0,
                .assisted = sow.labour.assisted,
                .stillborn = sow.litter.stillborn,
                .seen = sow.health.signs,
                .eaten_kg = sow.intake_seen.eaten_kg,
                .expected_kg = sow.intake_seen.expected_kg,
                .drunk_l = sow.intake_seen.drunk_l,
                .expected_l = sow.intake_seen.expected_l,
                .off_feed_or_water = intake_finding(room, sow) != IntakeFinding::as_expected,
                .trough_left_kg = sow.intake_seen.left_kg(),
                .days_off_feed = sow.feeding.days_off_feed,
                .seen_lame = sow.health.seen_lame};
  view.rectal_deg_c = sow.health.rectal_temperature_deg_c;
  if (sow.health.treatment_asked) view.since_treatment_h = (room.clock.now() - *sow.health.treatment_asked).hours();
  return view;
}

// Requests treatment if the policy calls for it. `just_found` is the sign just found, or empty after a temperature
// reading below the alarm limit.
void treat_if_called_for(FarrowingRoom& room, Sow& sow, std::optional<Sign> just_found) {
  CareView view = care_view(room, sow);
  view.just_found = just_found;
  if (!room.settings.care->treat(view)) return;
  sow.health.treatment_asked = room.now();
  ask_staff(room, work_order(room, TaskKind::treat_sow, sow));
}

// A sow that has not eaten may have no water: requests an immediate check of her drinker if the policy calls for it.
void suspect_drinker(FarrowingRoom& room, Sow& sow) {
  if (sow.water.drinker_asked_day == room.now().day() || !is_drinker_due(room, sow, Suspicion::of_the_drinker)) return;
  sow.water.drinker_asked_day = room.now().day();
  ask_staff(room, work_order(room, TaskKind::drinker_check, sow));
}

// Records a sign found by staff, true or false positive, and responds to it.
void find(FarrowingRoom& room, Sow& sow, Sign sign) {
  sow.health.signs.set(static_cast<std::size_t>(sign));
  if (sign == Sign::legs) sow.health.seen_lame = true;
  if (!sow.health.first_sign) sow.health.first_sign = room.now();
  room.records.event(room.now(), EventKind::sign_found, sow.number, -1, static_cast<double>(sign));
  treat_if_called_for(room, sow, sign);
}

Purpose purpose_of(Sign sign) {
  switch (sign) {
    case Sign::nursing:
      return Purpose::sign_nursing;
    case Sign::udder:
      return Purpose::sign_udder;
    default:
      return Purpose::sign_legs;
  }
}

// Whether a sign of posture, piglets, udder or legs is seen today. A healthy sow that looks as if she had it does so
// every day.
bool shows(const FarrowingRoom& room, const Sow& sow, Sign sign) {
  const bool present = sign == Sign::legs ? sow.lame() : sow.health.ill();
  const auto day = static_cast<std::uint32_t>(sow.lactation_day(room.clock.now().day()));
  return room.biology.signs.seen(
      sign, present ? Condition::present : Condition::absent, room.draws.uniform(purpose_of(sign), sow.entity(), day),
      room.draws.uniform(Purpose::false_sign, sow.entity(), static_cast<std::uint32_t>(sign)));
}

}  // namespace

Process<> recover(FarrowingRoom& room, Sow& sow) {
  const Biology& biology = room.biology;
  const Draws& draws = room.draws;
  const double duration_min = sow.farrowing_duration_min();
  const double expelled_after_min =
      biology.placenta.expelled_after_min(draws.normal(Purpose::placenta_expelled, sow.entity()));
  const bool retained =
      draws.uniform(Purpose::placenta_retained, sow.entity()) < biology.placenta.retention_probability(duration_min);
  sow.health.placenta = PlacentaState{expelled_after_min, retained};
  Scoped placenta{room.clock, pass_placenta(room, sow).named("placenta of sow", sow.number)};
  if (room.settings.herd.health == Health::on &&
      draws.uniform(Purpose::disorder, sow.entity()) < disorder_probability(room, sow)) {
    co_await room.clock.delay(
        Duration::from_hours(biology.disorder_course.onset_h(draws.normal(Purpose::disorder_onset, sow.entity()))));
    co_await be_ill(room, sow);
  }
  co_await sow.left.wait();  // the placenta's process ends with this one
}

Process<> have_temperature_taken(FarrowingRoom& room, Sow& sow) {
  const std::optional<Duration> after = room.settings.care->temperature_after(care_view(room, sow));
  if (!after) co_return;
  co_await room.clock.delay(*after, Order::task);
  ask_staff(room, work_order(room, TaskKind::temperature_check, sow));
}

void take_temperature(FarrowingRoom& room, Sow& sow) {
  const auto day = static_cast<std::uint32_t>(room.now().day());
  const double reading_deg_c = room.biology.rectal_temperature(
      {.since_farrowing_h = since_farrowing_h(room, sow),
       .clock_hour = room.now().hour_of_day(),
       .parity = sow.traits.parity,
       .room_deg_c = room.weather.climate().mean_deg_c,
       .sow_z = room.draws.normal(Purpose::rectal_temperature_of_sow, sow.entity()),
       .start_z = sow.traits.start_z,
       .measurement_z = room.draws.normal(Purpose::rectal_temperature, sow.entity(), day),
       .severity = sow.health.ill() ? sow.health.severity : 0});
  sow.health.rectal_temperature_deg_c = reading_deg_c;
  room.records.event(room.now(), EventKind::temperature_taken, sow.number, -1, reading_deg_c);
  if (reading_deg_c >= room.settings.care->alarm_deg_c().value_or(room.biology.rectal_temperature.alarm_deg_c())) {
    find(room, sow, Sign::temperature);
  } else {
    treat_if_called_for(room, sow, std::nullopt);
  }
}

void flag(FarrowingRoom& room, Sow& sow) {
  room.records.event(room.now(), EventKind::sow_flagged, sow.number, -1, sow.feeding.days_off_feed);
  suspect_drinker(room, sow);
}

void look_at_eating(FarrowingRoom& room, Sow& sow) {
  see_intake(room, sow);
  if (intake_finding(room, sow) != IntakeFinding::as_expected) suspect_drinker(room, sow);
}

bool is_made_to_stand(const FarrowingRoom& room, const Sow& sow) {
  return room.settings.care->stands_up(care_view(room, sow));
}

double constipation_score(const FarrowingRoom& room, const Sow& sow) {
  return room.biology.standing_up.constipation_score(sow.traits.constipation_score, sow.feeding.times_stood_up);
}

void look_at_standing_sow(FarrowingRoom& room, Sow& sow) {
  look_at_eating(room, sow);
  if (!sow.farrowed.reached()) return;
  constexpr auto legs = static_cast<std::size_t>(Sign::legs);
  if (room.settings.care->look_for(care_view(room, sow)).test(legs) && shows(room, sow, Sign::legs))
    find(room, sow, Sign::legs);
}

void look_for_signs(FarrowingRoom& room, Sow& sow) {
  look_at_eating(room, sow);
  if (!sow.farrowed.reached()) return;
  const SignSet looked_for = room.settings.care->look_for(care_view(room, sow));
  for (const Sign sign : {Sign::nursing, Sign::not_eaten, Sign::udder, Sign::legs}) {
    if (!looked_for.test(static_cast<std::size_t>(sign))) continue;
    const bool seen = sign == Sign::not_eaten ? intake_finding(room, sow) == IntakeFinding::off_feed_or_water
                                              : shows(room, sow, sign);
    if (seen) find(room, sow, sign);
  }
  if (room.settings.care->wean_today(care_view(room, sow))) sow.weaned_early.fire();
}

// She is seen as she walks to her crate. Treatment follows only if a sow that is seen lame is to be treated.
void see_her_walk(FarrowingRoom& room, Sow& sow) {
  if (!room.settings.care->treats_lame_at_loading() || !shows(room, sow, Sign::legs)) return;
  sow.health.seen_lame = true;
  room.records.event(room.now(), EventKind::sign_found, sow.number, -1, static_cast<double>(Sign::legs));
  ask_staff(room, work_order(room, TaskKind::treat_sow, sow));
}

void treat(FarrowingRoom& room, Sow& sow) {
  if (sow.health.seen_lame && sow.lame() && !std::exchange(sow.health.legs_treated, true))
    room.clock.spawn(recover_legs(room, sow).named("legs of sow", sow.number));
  if (sow.farrowed.reached() && !sow.health.first_treated) sow.health.first_treated = room.now();
  room.records.event(room.now(), EventKind::sow_treated, sow.number);
  sow.health.treatment.fire();
}

}  // namespace farrowtide
