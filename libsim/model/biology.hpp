// All equations of the model with their coefficients: built once per scenario, immutable, shared by all threads.
#pragma once

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
#include "libsim/model/litter/unfed.hpp"
#include "libsim/model/room/animal_heat.hpp"
#include "libsim/model/room/drinker.hpp"
#include "libsim/model/room/micro_climate.hpp"
#include "libsim/model/room/overheating.hpp"
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
#include "libsim/model/sow/standing_up.hpp"
#include "libsim/model/sow/starvation.hpp"
#include "libsim/model/sow/water.hpp"
#include "libsim/model/staff/task.hpp"
#include "libsim/scenario/coefficients.hpp"

namespace farrowtide {

// Constructed from coefficients: Biology{coefficients}. To add an equation, add an include and a member.
struct Biology {
  Coefficients coefficients;

  // the herd at loading
  HerdDistributions herd{coefficients};
  SowEffectDraw sow_effects{coefficients};
  ConstipationScore constipation{coefficients};
  GestationLength gestation{coefficients};
  Induction induction{coefficients};
  OnsetHour onset_hour{coefficients};
  // farrowing
  BirthInterval birth_interval{coefficients};
  Inertia inertia{coefficients};
  LabourEnd labour_end{coefficients};
  HelpRules help{coefficients};
  Stillbirth stillbirth{coefficients};
  NewbornCare newborn_care{coefficients};
  Placenta placenta{coefficients};
  // the litter
  BirthWeight birth_weight{coefficients};
  NewbornTraits newborn_traits{coefficients};
  ColostrumYield colostrum_yield{coefficients};
  ColostrumChill colostrum_chill{coefficients};
  ColostrumSharing colostrum_sharing{coefficients};
  Frailty frailty{coefficients};
  Survival survival{coefficients};
  LitterGain litter_gain{coefficients};
  GainSharing gain_sharing{coefficients};
  UnfedLitter unfed{coefficients};
  Runts runts{coefficients};
  UsableTeats usable_teats{coefficients};
  MoveEffects move_effects{coefficients};
  ResidentEffects resident_effects{coefficients};
  LitterAdoption litter_adoption{coefficients};
  DemandMismatch demand_mismatch{coefficients};
  DiseaseTransfer disease_transfer{coefficients};
  Scours scours{coefficients};
  Chilling chilling{coefficients};
  CreepFeed creep_feed{coefficients};
  // feed, milk, body
  Appetite appetite{coefficients};
  PreFarrowAppetite pre_farrow_appetite{coefficients};
  EffectiveTemperature effective_temperature{coefficients};
  MealRules meals{coefficients};
  LactationCurves lactation_curves{coefficients};
  MilkPotential milk_potential{coefficients};
  MilkYield milk_yield{coefficients};
  LitterStart litter_start{coefficients};
  EnergyBalance energy{coefficients};
  WeighedSow weighed_sow{coefficients};
  PreFarrowBalance pre_farrow_energy{coefficients};
  LysineBalance lysine{coefficients};
  EarlyLoss early_loss{coefficients};
  BodyComposition body_composition{coefficients};
  Starvation starvation{coefficients};
  // water, handling, health
  Learning learning{coefficients};
  WaterDemand water_demand{coefficients};
  WaterLimit water_limit{coefficients};
  Thirst thirst{coefficients};
  LowDrinker low_drinker{coefficients};
  StandingUp standing_up{coefficients};
  HandlingEffect handling{coefficients};
  LegTrouble leg_trouble{coefficients};
  DisorderRisk disorder_risk{coefficients};
  DisorderCourse disorder_course{coefficients};
  WhileIll while_ill{coefficients};
  IllnessSeverity illness_severity{coefficients};
  RectalTemperature rectal_temperature{coefficients};
  Signs signs{coefficients};
  IntakeSeen intake_seen{coefficients};
  SowLoss sow_loss{coefficients};
  // after weaning
  WeaningToOestrus weaning_to_oestrus{coefficients};
  FarrowingRate farrowing_rate{coefficients};
  NextTotalBorn next_total_born{coefficients};
  RemovalRisk removal_risk{coefficients};
  // the room and the staff
  DrinkerRules drinkers{coefficients};
  SowHeat sow_heat{coefficients};
  LitterHeat litter_heat{coefficients};
  HeatLamps lamps{coefficients};
  MicroClimate micro_climate{coefficients};
  Overheating overheating{coefficients};
  TaskRanks task_ranks{coefficients};
  TaskDue task_due{coefficients};
  TaskTimes task_times{coefficients};
  // rules consisting of a single number
  Duration no_meal_before_birth =
      Duration::from_hours(coefficients.number("sow.pre_farrow.no_meal_before_first_birth", "h"));
  Duration no_meal_after_birth =
      Duration::from_hours(coefficients.number("sow.pre_farrow.no_meal_after_last_birth", "h"));
  double trough_empty_share =  // left of what was offered, up to which a trough counts as empty
      coefficients.number("sow.feeding_practice.trough_empty_share", "-");
  double trough_untouched_share =  // from which it counts as untouched
      coefficients.number("sow.feeding_practice.trough_untouched_share", "-");
  double usual_weight_loss_kg_per_day =  // of the default herd
      coefficients.number("sow.after_weaning.next_total_born.usual_loss", "kg/d");
  double no_heat_deg_c =  // highest room temperature that does not slow labour
      coefficients.number("sow.farrowing.interval_modifiers.room_temperature_from", "degC");
  int nurse_sow_least_piglets =  // minimum number of surplus piglets that justifies a nurse sow
      static_cast<int>(coefficients.number("staff.practice.nurse_sow_least_piglets", "piglets"));
  int orphans_above_teats =  // maximum number of piglets above her teats that a sow is given of a litter whose dam died
      static_cast<int>(coefficients.number("litter.fostering_practice.orphans_above_teats", "piglets"));
  double expected_born_alive_share =  // of total born, used for birth weights before the births are known
      coefficients.number("litter.birth_weight.expected_born_alive_share", "-");
};

}  // namespace farrowtide
