// All equations of the model with their coefficients: built once for a scenario, never changed, shared by all threads.
#pragma once

#include <algorithm>
#include <vector>

#include "libsim/model/litter/birth_weight.hpp"
#include "libsim/model/litter/chilling.hpp"
#include "libsim/model/litter/colostrum.hpp"
#include "libsim/model/litter/creep_feed.hpp"
#include "libsim/model/litter/farrowing.hpp"
#include "libsim/model/litter/gestation.hpp"
#include "libsim/model/litter/growth.hpp"
#include "libsim/model/litter/moving.hpp"
#include "libsim/model/litter/scours.hpp"
#include "libsim/model/litter/survival.hpp"
#include "libsim/model/litter/teats.hpp"
#include "libsim/model/room/animal_heat.hpp"
#include "libsim/model/room/drinker.hpp"
#include "libsim/model/room/micro_climate.hpp"
#include "libsim/model/sow/after_weaning.hpp"
#include "libsim/model/sow/appetite.hpp"
#include "libsim/model/sow/effective_temperature.hpp"
#include "libsim/model/sow/energy_balance.hpp"
#include "libsim/model/sow/handling.hpp"
#include "libsim/model/sow/herd.hpp"
#include "libsim/model/sow/learning.hpp"
#include "libsim/model/sow/leg_trouble.hpp"
#include "libsim/model/sow/meals.hpp"
#include "libsim/model/sow/milk.hpp"
#include "libsim/model/sow/post_partum_disorder.hpp"
#include "libsim/model/sow/rectal_temperature.hpp"
#include "libsim/model/sow/signs.hpp"
#include "libsim/model/sow/sow_loss.hpp"
#include "libsim/model/sow/water.hpp"
#include "libsim/model/staff/task.hpp"
#include "libsim/scenario/coefficients.hpp"

namespace farrowtide {

struct Biology {
  explicit Biology(const Coefficients& c)
      : coefficients(c),
        herd(c),
        sow_effects(c),
        constipation(c),
        gestation(c),
        induction(c),
        onset_hour(c),
        birth_interval(c),
        inertia(c),
        help(c),
        stillbirth(c),
        newborn_care(c),
        placenta(c),
        birth_weight(c),
        newborn_traits(c),
        colostrum_yield(c),
        colostrum_chill(c),
        colostrum_sharing(c),
        frailty(c),
        survival(c),
        litter_gain(c),
        gain_sharing(c),
        runts(c),
        usable_teats(c),
        move_effects(c),
        resident_effects(c),
        litter_adoption(c),
        demand_mismatch(c),
        disease_transfer(c),
        scours(c),
        chilling(c),
        creep_feed(c),
        appetite(c),
        pre_farrow_appetite(c),
        effective_temperature(c),
        meals(c),
        milk_potential(c),
        milk_yield(c),
        litter_start(c),
        energy(c),
        pre_farrow_energy(c),
        lysine(c),
        early_loss(c),
        body_composition(c),
        learning(c),
        water_demand(c),
        water_limit(c),
        low_drinker(c),
        handling(c),
        leg_trouble(c),
        disorder_risk(c),
        disorder_course(c),
        while_ill(c),
        illness_severity(c),
        rectal_temperature(c),
        signs(c),
        sow_loss(c),
        weaning_to_oestrus(c),
        farrowing_rate(c),
        next_total_born(c),
        removal_risk(c),
        drinkers(c),
        sow_heat(c),
        litter_heat(c),
        lamps(c),
        micro_climate(c),
        task_ranks(c),
        task_due(c),
        task_times(c),
        no_meal_before_birth(Duration::from_hours(c.number("sow.pre_farrow.no_meal_before_first_birth", "h"))),
        no_meal_after_birth(Duration::from_hours(c.number("sow.pre_farrow.no_meal_after_last_birth", "h"))),
        usual_weight_loss_kg_per_day(c.number("sow.after_weaning.next_total_born.usual_loss", "kg/d")),
        no_heat_deg_c(c.number("sow.farrowing.interval_modifiers.room_temperature_from", "degC")),
        nurse_sow_lactation_day(static_cast<int>(c.number("staff.practice.nurse_sow_lactation_day", "d"))),
        nurse_sow_least_piglets(static_cast<int>(c.number("staff.practice.nurse_sow_least_piglets", "piglets"))),
        expected_born_alive_share(c.number("litter.birth_weight.expected_born_alive_share", "-")) {
    for (int d = shortest_lactation_d; d <= longest_lactation_d; ++d) lactation_curves.emplace_back(c, d);
  }

  static constexpr int shortest_lactation_d = 17, longest_lactation_d = 35;  // that the milk curve supports
  const LactationCurve& lactation_curve(int length_d) const {
    return lactation_curves[static_cast<std::size_t>(std::clamp(length_d, shortest_lactation_d, longest_lactation_d) -
                                                     shortest_lactation_d)];
  }

  Coefficients coefficients;

  // the herd at loading
  HerdDistributions herd;
  SowEffectDraw sow_effects;
  ConstipationScore constipation;
  GestationLength gestation;
  Induction induction;
  OnsetHour onset_hour;
  // farrowing
  BirthInterval birth_interval;
  Inertia inertia;
  HelpRules help;
  Stillbirth stillbirth;
  NewbornCare newborn_care;
  Placenta placenta;
  // the litter
  BirthWeight birth_weight;
  NewbornTraits newborn_traits;
  ColostrumYield colostrum_yield;
  ColostrumChill colostrum_chill;
  ColostrumSharing colostrum_sharing;
  Frailty frailty;
  Survival survival;
  LitterGain litter_gain;
  GainSharing gain_sharing;
  Runts runts;
  UsableTeats usable_teats;
  MoveEffects move_effects;
  ResidentEffects resident_effects;
  LitterAdoption litter_adoption;
  DemandMismatch demand_mismatch;
  DiseaseTransfer disease_transfer;
  Scours scours;
  Chilling chilling;
  CreepFeed creep_feed;
  // feed, milk, body
  Appetite appetite;
  PreFarrowAppetite pre_farrow_appetite;
  EffectiveTemperature effective_temperature;
  MealRules meals;
  std::vector<LactationCurve> lactation_curves;  // by length
  MilkPotential milk_potential;
  MilkYield milk_yield;
  LitterStart litter_start;
  EnergyBalance energy;
  PreFarrowBalance pre_farrow_energy;
  LysineBalance lysine;
  EarlyLoss early_loss;
  BodyComposition body_composition;
  // water, handling, health
  Learning learning;
  WaterDemand water_demand;
  WaterLimit water_limit;
  LowDrinker low_drinker;
  HandlingEffect handling;
  LegTrouble leg_trouble;
  DisorderRisk disorder_risk;
  DisorderCourse disorder_course;
  WhileIll while_ill;
  IllnessSeverity illness_severity;
  RectalTemperature rectal_temperature;
  Signs signs;
  SowLoss sow_loss;
  // after weaning
  WeaningToOestrus weaning_to_oestrus;
  FarrowingRate farrowing_rate;
  NextTotalBorn next_total_born;
  RemovalRisk removal_risk;
  // the room and the staff
  DrinkerRules drinkers;
  SowHeat sow_heat;
  LitterHeat litter_heat;
  HeatLamps lamps;
  MicroClimate micro_climate;
  TaskRanks task_ranks;
  TaskDue task_due;
  TaskTimes task_times;
  // rules of one number
  Duration no_meal_before_birth, no_meal_after_birth;
  double usual_weight_loss_kg_per_day;  // of the default herd
  double no_heat_deg_c;                 // up to here warmth does not slow labour
  int nurse_sow_lactation_day;          // on which a sow is taken in to nurse
  int nurse_sow_least_piglets;          // that make it worth to take one in
  double expected_born_alive_share;     // of total born, where weights at birth need it before the births
};

}  // namespace farrowtide
