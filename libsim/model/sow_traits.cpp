#include "libsim/model/sow_traits.hpp"

#include <algorithm>
#include <cmath>
#include <vector>

namespace farrowtide {
namespace {

std::uint32_t entity(int number) { return static_cast<std::uint32_t>(number); }

// The scenario's value for this sow, or else its value for every sow.
template <class Told>
Told told(const Told& of_her, const Told& of_all) {
  return of_her ? of_her : of_all;
}

}  // namespace

SowGenerator::SowGenerator(const FarmSettings& settings, const Biology& biology, Draws draws, GroupInRoom group,
                           Time loading)
    : settings_(settings),
      biology_(biology),
      draws_(draws),
      group_(group),
      loading_(loading),
      herd_(biology.herd.of(settings.herd.description)) {}

SowTraits SowGenerator::operator()(int number) const {
  SowTraits sow;
  draw_herd_traits(number, sow);
  draw_farrowing(number, sow);
  draw_health_and_water(number, sow);
  sow.start_kind = biology_.litter_start.kind(draws_.uniform(Purpose::bad_start, entity(number)));
  sow.start_z = z(number, Purpose::litter_start);
  sow.appetite_noise = z(number, Purpose::appetite_noise);
  sow.unsteadiness = biology_.appetite.variation().unsteadiness(z(number, Purpose::unsteady_appetite));
  return sow;
}

SowTraits SowGenerator::nurse(int number, Time now) const {
  SowTraits sow = (*this)(number);
  sow.nurse = true;
  sow.parity = std::max(sow.parity, 2);  // she has just reared a litter of her own
  sow.knows_drinker = sow.knows_feeder = true;
  sow.onset = now - settings_.herd.nurse_sow_lactation_day * 1_d;
  return sow;
}

void SowGenerator::draw_herd_traits(int number, SowTraits& sow) const {
  const DescribedSow& own = described(number);
  const DescribedSow& all = settings_.herd.every_sow;
  sow.parity = told(own.parity, all.parity).value_or(herd_.parity(draws_.uniform(Purpose::parity, entity(number))));
  sow.total_born =
      told(own.total_born, all.total_born).value_or(herd_.total_born(sow.parity, z(number, Purpose::total_born)));
  sow.functional_teats = told(own.functional_teats, all.functional_teats)
                             .value_or(herd_.functional_teats(sow.parity, z(number, Purpose::functional_teats)));
  sow.effects = biology_.sow_effects({z(number, Purpose::sow_effects, 0), z(number, Purpose::sow_effects, 1),
                                      z(number, Purpose::sow_effects, 2), z(number, Purpose::sow_effects, 3)});
  sow.constipation_score = biology_.constipation(z(number, Purpose::constipation), settings_.diet.fibre);
  sow.late_gestation_feed_kg_per_day = settings_.herd.late_gestation_feed_kg_per_day;
  sow.weight_kg =
      told(own.weight_after_farrowing_kg, all.weight_after_farrowing_kg)
          .value_or(herd_.weight_after_farrowing_kg(sow.parity, z(number, Purpose::weight_after_farrowing)));
  sow.backfat_mm = told(own.backfat_mm, all.backfat_mm).value_or(herd_.backfat_p2_mm(z(number, Purpose::backfat)));
}

// Her due day follows from her service day and the herd's mean gestation length. She farrows at the end of her own
// gestation, at a time of day that depends on the feeding times.
void SowGenerator::draw_farrowing(int number, SowTraits& sow) const {
  const double service_offset_d = biology_.gestation.service_offset_d(z(number, Purpose::service_day));
  sow.gestation_length_d = biology_.gestation(sow.total_born, z(number, Purpose::gestation_of_sow),
                                              z(number, Purpose::gestation_of_farrowing));
  const double due_d = group_.loading_day + settings_.loading->days_before_due() + 0.5 + service_offset_d;
  sow.due_day = static_cast<int>(std::floor(due_d));
  const int first_possible_day = group_.loading_day + 1;  // a sow closer to farrowing would have been loaded earlier
  const auto fixed_day = told(described(number).farrows_on_day, settings_.herd.every_sow.farrows_on_day);
  const int onset_day =
      fixed_day
          ? group_.loading_day + *fixed_day
          : std::max(first_possible_day,
                     static_cast<int>(std::floor(due_d + sow.gestation_length_d - biology_.gestation.herd_mean_d())));
  std::vector<double> meal_hours;
  for (const Duration round : settings_.feeding->pre_farrow_rounds()) meal_hours.push_back(round.hours());
  const double hour = biology_.onset_hour(meal_hours, draws_.uniform(Purpose::onset_hour, entity(number)));
  sow.onset = Time{} + onset_day * 1_d + Duration::from_hours(hour);
  induce(number, due_d, sow);
}

// Brings her farrowing forward if it is induced before it would begin spontaneously.
void SowGenerator::induce(int number, double due_d, SowTraits& sow) const {
  if (!settings_.induction.schedule) return;
  const double day = std::floor(due_d - biology_.gestation.herd_mean_d() + settings_.induction.gestation_day);
  const Time given = std::max(loading_, Time{} + Duration::from_hours(day * 24) + settings_.induction.time_of_day);
  const Time induced = given + Duration::from_hours(biology_.induction.delay_h(*settings_.induction.schedule,
                                                                               z(number, Purpose::induction)));
  if (given >= sow.onset || induced >= sow.onset) return;
  sow.gestation_length_d -= (sow.onset - induced).days();
  sow.onset = induced;
  sow.induced = true;
}

void SowGenerator::draw_health_and_water(int number, SowTraits& sow) const {
  if (settings_.herd.health == Health::on)
    sow.leg_trouble = biology_.leg_trouble.has_it(draws_.uniform(Purpose::leg_trouble, entity(number)),
                                                  settings_.herd.lameness_level_logit);
  sow.drinker_flow_l_per_min =
      biology_.drinkers.flow_l_per_min(settings_.equipment.drinker_flow_l_per_min, settings_.equipment.drinker_flow_cv,
                                       z(number, Purpose::drinker_flow));
  if (sow.parity != 1) return;
  sow.knows_drinker = biology_.learning.knows_drinker(draws_.uniform(Purpose::knows_drinker, entity(number)));
  sow.knows_feeder = !settings_.herd.new_feeder ||
                     biology_.learning.knows_feeder(draws_.uniform(Purpose::knows_feeder, entity(number)));
}

const DescribedSow& SowGenerator::described(int number) const {
  static const DescribedSow nothing;
  const auto index = static_cast<std::size_t>(number - group_.first_sow);
  return index < settings_.herd.sows.size() ? settings_.herd.sows[index] : nothing;
}

double SowGenerator::z(int number, Purpose purpose, std::uint32_t occasion) const {
  return draws_.normal(purpose, entity(number), occasion);
}

}  // namespace farrowtide
