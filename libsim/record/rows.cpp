#include "libsim/record/rows.hpp"

#include <algorithm>
#include <array>

#include "libsim/record/task_catalogue.hpp"

namespace farrowtide {
namespace {

// A piglet that has not died has no cause of death.
constexpr auto causes = [] {
  std::array<std::string_view, NameTable<DeathCause>::size + 1> labels{"-"};
  std::ranges::copy(NameTable<DeathCause>::all, labels.begin() + 1);
  return labels;
}();

// The unit of columns that hold 1 for yes and 0 for no.
constexpr std::string_view yes_or_no = "yes/no";

constexpr ColumnInfo replicate_info{"replicate", "-", "number of the replication, from 0"};
constexpr ColumnInfo group_info{"group", "-", "number of the farrowing group, from 1"};
constexpr ColumnInfo hour_of_day_info{"hour", "-", "hour of the day; 0 is from 00:00 to 01:00"};
constexpr ColumnInfo sow_info{"sow", "-", "number of the sow on the farm, from 1; 0 or less: the room"};

}  // namespace

std::span<const Field<SowRow>> SowRow::fields() {
  using R = SowRow;
  static const Field<R> list[] = {
      {replicate_info, &R::replicate},
      {group_info, &R::group},
      {{"room", "-", "number of the room, from 1"}, &R::room},
      {sow_info, &R::sow},
      {{"parity", "-", "parity at this farrowing; 1 for a gilt's first"}, &R::parity},
      {{"nurse", yes_or_no, "brought in to nurse surplus piglets"}, &R::nurse},
      {{"functional_teats", "teats", "at loading"}, &R::functional_teats},
      {{"total_born", "piglets", "born alive and stillborn"}, &R::total_born},
      {{"born_alive", "piglets", "including revived piglets"}, &R::born_alive},
      {{"stillborn", "piglets", "born dead"}, &R::stillborn},
      {{"weaned", "piglets", "alive at weaning"}, &R::weaned},
      {{"died_before_weaning", "piglets", "born alive and dead before weaning"}, &R::died_before_weaning},
      {{"exams", "-", "number of internal exams"}, &R::exams},
      {{"assisted_births", "piglets", "delivered with help"}, &R::assisted_births},
      {{"attended_births", "piglets", "born with staff present or reached within the revival time"},
       &R::attended_births},
      {{"births_on_duty", "piglets", "born while somebody was on duty, breaks excluded"}, &R::births_on_duty},
      {{"attended_births_on_duty", "piglets", "of births_on_duty, those that were attended"},
       &R::attended_births_on_duty},
      {{"induced", yes_or_no, "her farrowing was begun by induction, not by itself"}, &R::induced},
      {{"farrowing_start_h", "h", "first birth; missing for a nurse sow and one that died before it"},
       &R::farrowing_start_h},
      {{"farrowing_duration_min", "min", "first to last birth; missing for one that died before the last"},
       &R::farrowing_duration_min},
      {{"gestation_length_d", "d", "service to first birth"}, &R::gestation_length_d},
      {{"lactation_length_d", "d", "day of the last birth to the day she left; missing if she died before"},
       &R::lactation_length_d},
      {{"feed_intake_kg_per_day", "kg/d", "eaten, mean of lactation days 1 to weaning; missing without such a day"},
       &R::feed_intake_kg_per_day},
      {{"feed_intake_d1_7_kg_per_day", "kg/d", "eaten, mean of lactation days 1-7; missing without such a day"},
       &R::feed_intake_d1_7_kg_per_day},
      {{"pre_farrow_intake_kg_per_day", "kg/d",
        "eaten, mean of whole days from loading to farrowing; missing without such a day"},
       &R::pre_farrow_intake_kg_per_day},
      {{"feed_offered_kg", "kg", "put into the trough, whole stay"}, &R::feed_offered_kg},
      {{"feed_undelivered_kg", "kg", "meant for her but more than the trough held, whole stay; not part of offered"},
       &R::feed_undelivered_kg},
      {{"feed_wasted_kg", "kg", "drawn from the trough but not eaten, whole stay"}, &R::feed_wasted_kg},
      {{"feed_removed_kg", "kg", "removed from the trough by staff, whole stay"}, &R::feed_removed_kg},
      {{"trough_mornings", "d",
        "lactation days from 1 on which somebody came to her trough, filled by hand or machine since the last visit"},
       &R::trough_mornings},
      {{"empty_mornings", "d", "trough mornings with nothing left, or a trace, at the first visit"},
       &R::empty_mornings},
      {{"untouched_mornings", "d", "trough mornings with a large share of the feed left at the first visit"},
       &R::untouched_mornings},
      {{"checked_empty_mornings", "d", "empty mornings on which the trough check was made"},
       &R::checked_empty_mornings},
      {{"checked_untouched_mornings", "d", "untouched mornings on which the trough check was made"},
       &R::checked_untouched_mornings},
      {{"meals_per_day", "1/d", "mean of lactation days 1 to weaning; missing without such a day"}, &R::meals_per_day},
      {{"zero_feed_days", "d", "lactation days 1 to weaning without any feed eaten"}, &R::zero_feed_days},
      {{"low_feed_days", "d", "lactation days 1 to weaning with less than half her own mean of days 1 to weaning"},
       &R::low_feed_days},
      {{"weight_after_farrowing_kg", "kg", "without the litter; missing if she died before the last birth"},
       &R::weight_after_farrowing_kg},
      {{"weight_at_weaning_kg", "kg", "body weight when she left; missing if she died before the last birth"},
       &R::weight_at_weaning_kg},
      {{"weight_loss_kg", "kg",
        "after farrowing to weaning; negative is a gain; missing if she died before the last birth"},
       &R::weight_loss_kg},
      {{"weight_loss_percent", "%", "of the weight after farrowing; missing if she died before the last birth"},
       &R::weight_loss_percent},
      {{"backfat_at_farrowing_mm", "mm", "P2; missing if she died before the last birth"}, &R::backfat_at_farrowing_mm},
      {{"backfat_loss_mm", "mm",
        "P2, farrowing to weaning; negative is a gain; missing if she died before the last birth"},
       &R::backfat_loss_mm},
      {{"milk_mcal_per_day", "Mcal/d", "milk energy, mean of lactation days 1 to weaning; missing without such a day"},
       &R::milk_mcal_per_day},
      {{"litter_weight_at_weaning_kg", "kg", "all piglets weaned by this sow; missing if she died"},
       &R::litter_weight_at_weaning_kg},
      {{"litter_gain_kg_per_day", "kg/d",
        "growth of the litter, mean of lactation days 1 to weaning; missing without such a day"},
       &R::litter_gain_kg_per_day},
      {{"piglets_moved_in", "piglets", "reared for other sows"}, &R::piglets_moved_in},
      {{"piglets_moved_out", "piglets", "moved from her to other sows"}, &R::piglets_moved_out},
      {{"born_here_and_moved", "piglets", "born alive to her and moved at least once"}, &R::born_here_and_moved},
      {{"orphans_moved", "piglets", "of a sow that died: taken to other sows, even above the limit on moves"},
       &R::orphans_moved},
      {{"orphans_lost", "piglets", "of a sow that died: left without room at another udder, and died"},
       &R::orphans_lost},
      {{"scours", yes_or_no, "her litter had scours"}, &R::scours},
      {{"water_l_per_day", "L/d", "drunk, mean of lactation days 1 to weaning; missing without such a day"},
       &R::water_l_per_day},
      {{"drinker_flow_l_per_min", "L/min", "of her drinker when it is clean"}, &R::drinker_flow_l_per_min},
      {{"low_drinker", yes_or_no, "she drank too little over lactation days 1-3"}, &R::low_drinker},
      {{"leg_trouble", yes_or_no, "she had it at loading"}, &R::leg_trouble},
      {{"learned_drinker_h", "h",
        "from loading until a first-parity sow had learned to use her drinker, 0 if she knew; missing if she never "
        "did"},
       &R::learned_drinker_h},
      {{"learned_feeder_h", "h", "the same of her feeder; missing in the same cases"}, &R::learned_feeder_h},
      {{"ready_in_time", "-",
        "1 if a first-parity sow had learned both within loading.ready_within, else 0; missing for older sows"},
       &R::ready_in_time},
      {{"placenta_min", "min", "last birth to the last placenta; missing for a nurse sow and one that died before it"},
       &R::placenta_min},
      {{"placenta_retained", yes_or_no, "a part was retained"}, &R::placenta_retained},
      {{"disorder_onset_h", "h", "onset of the post-partum disorder after the last birth; missing if she had none"},
       &R::disorder_onset_h},
      {{"disorder_days", "d", "length of the disorder, up to weaning"}, &R::disorder_days},
      {{"found_h", "h", "first sign found after the last birth, rightly or wrongly; missing if none"}, &R::found_h},
      {{"treated_h", "h", "first treatment after the last birth; missing if none"}, &R::treated_h},
      {{"rectal_temperature_deg_c", "degC", "at the check; missing if none was made"}, &R::rectal_temperature_deg_c},
      {{"left_as", "-", "how she left the room", NameTable<SowFate>::all}, &R::left_as},
      {{"anoestrous", yes_or_no, "she was weaned and shows no oestrus afterwards"}, &R::anoestrous},
      {{"weaning_to_oestrus_d", "d",
        "weaning to the next oestrus; missing if she shows none, died or left without a whole lactation day"},
       &R::weaning_to_oestrus_d},
      {{"farrowing_rate", "-", "probability of farrowing from the next service; missing in the same cases"},
       &R::farrowing_rate},
      {{"next_total_born_change", "piglets",
        "of her next litter, relative to a herd mate that lost no more weight than usual; missing in the same cases"},
       &R::next_total_born_change},
      {{"removal_risk", "-",
        "probability that she is removed before she farrows again; missing if she died or without a whole lactation "
        "day"},
       &R::removal_risk},
      {{"appetite_effect_log", "log", "the sow's own appetite relative to her herd mates"}, &R::appetite_effect_log},
      {{"milk_effect_log", "log", "the sow's own milk yield relative to her herd mates"}, &R::milk_effect_log},
      {{"duration_effect_log", "log", "the sow's own farrowing duration relative to her herd mates"},
       &R::duration_effect_log},
  };
  return list;
}

std::span<const Field<SowDayRow>> SowDayRow::fields() {
  using R = SowDayRow;
  static const Field<R> list[] = {
      {replicate_info, &R::replicate},
      {sow_info, &R::sow},
      {{"parity", "-", "parity at this farrowing"}, &R::parity},
      {{"day", "d", "lactation day; 0 is the calendar day of the last birth, negative before"}, &R::day},
      {{"farrowed", yes_or_no, "the last piglet of the litter is born"}, &R::farrowed},
      {{"appetite_kg", "kg", "what she would eat that day with feed always available"}, &R::appetite_kg},
      {{"offered_kg", "kg", "put into the trough"}, &R::offered_kg},
      {{"undelivered_kg", "kg", "meant for her but more than the trough held; not part of offered"},
       &R::undelivered_kg},
      {{"eaten_kg", "kg", "eaten by the sow"}, &R::eaten_kg},
      {{"wasted_kg", "kg", "drawn from the trough but not eaten"}, &R::wasted_kg},
      {{"removed_kg", "kg", "removed by staff"}, &R::removed_kg},
      {{"in_trough_at_midnight_kg", "kg", "left at the end of the day"}, &R::in_trough_at_midnight_kg},
      {{"meals", "-", "meals eaten"}, &R::meals},
      {{"water_l", "L", "drunk"}, &R::water_l},
      {{"ill", yes_or_no, "she had the post-partum disorder at the end of the day"}, &R::ill},
      {{"piglets", "-", "nursing at the end of the day"}, &R::piglets},
      {{"effective_temperature_deg_c", "degC", "as it affects appetite"}, &R::effective_temperature_deg_c},
      {{"room_temperature_deg_c", "degC", "mean of the day"}, &R::room_temperature_deg_c},
      {{"weight_kg", "kg", "body weight at the end of the day, without the unborn litter"}, &R::weight_kg},
      {{"weighed_kg", "kg", "the same as a scale shows it, with the feed in her gut"}, &R::weighed_kg},
      {{"backfat_mm", "mm", "P2 at the end of the day"}, &R::backfat_mm},
      {{"weight_change_kg", "kg", "over the day"}, &R::weight_change_kg},
      {{"energy_eaten_mcal", "Mcal", "metabolisable energy of the feed eaten"}, &R::energy_eaten_mcal},
      {{"maintenance_mcal", "Mcal", "energy for maintenance; before farrowing including the unborn litter"},
       &R::maintenance_mcal},
      {{"milk_mcal", "Mcal", "energy of the milk produced"}, &R::milk_mcal},
      {{"milk_potential_mcal", "Mcal", "milk energy the litter would draw from a well-fed sow in a cool room"},
       &R::milk_potential_mcal},
      {{"body_energy_change_mcal", "Mcal", "gained by the body; negative is drawn from it"},
       &R::body_energy_change_mcal},
      {{"litter_gain_kg", "kg", "growth of the litter over the day"}, &R::litter_gain_kg},
  };
  return list;
}

std::span<const Field<PigletRow>> PigletRow::fields() {
  using R = PigletRow;
  static const Field<R> list[] = {
      {replicate_info, &R::replicate},
      {{"sow", "-", "dam: number of the sow on the farm, from 1"}, &R::sow},
      {{"birth_order", "-", "rank in the litter, from 1"}, &R::birth_order},
      {{"male", yes_or_no, "female otherwise"}, &R::male},
      {{"birth_weight_kg", "kg", "at birth"}, &R::birth_weight_kg},
      {{"birth_time_h", "h", "since the start"}, &R::birth_time_h},
      {{"birth_interval_drawn_min", "min",
        "since the last birth as drawn for this sow, before the effects of meals, heat, inertia and help; missing for "
        "the first"},
       &R::birth_interval_drawn_min},
      {{"birth_interval_min", "min", "since the last birth, as it happened; missing for the first"},
       &R::birth_interval_min},
      {{"assisted", yes_or_no, "delivered with help"}, &R::assisted},
      {{"attended", yes_or_no, "staff were present or came within the revival time"}, &R::attended},
      {{"born_on_duty", yes_or_no, "somebody was on duty when it was born, breaks excluded"}, &R::born_on_duty},
      {{"reared_by", "-", "the sow it nursed last; less than 1: none"}, &R::reared_by},
      {{"moves", "-", "times it was moved to another sow"}, &R::moves},
      {{"scoured", yes_or_no, "it had scours"}, &R::scoured},
      {{"fate", "-", "what became of it", NameTable<PigletFate>::all}, &R::fate},
      {{"cause", "-", "cause of death of the live-born", causes}, &R::cause},
      {{"age_at_death_d", "d", "missing unless it died"}, &R::age_at_death_d},
      {{"colostrum_g", "g", "drunk in the first day, bottle-fed scale; missing if stillborn"}, &R::colostrum_g},
      {{"age_at_weaning_d", "d", "missing unless weaned"}, &R::age_at_weaning_d},
      {{"weaning_weight_kg", "kg", "missing unless weaned"}, &R::weaning_weight_kg},
      {{"threshold_crushed", "-", "unit-exponential threshold of its hazard of being crushed"}, &R::threshold_crushed},
      {{"threshold_starved", "-", "the same for starving or weakness"}, &R::threshold_starved},
      {{"threshold_other", "-", "the same for all other causes"}, &R::threshold_other},
  };
  return list;
}

std::span<const Field<RoomHourRow>> RoomHourRow::fields() {
  using R = RoomHourRow;
  static const Field<R> list[] = {
      {replicate_info, &R::replicate},
      {group_info, &R::group},
      {{"hour", "h", "hours since the start"}, &R::hour},
      {{"outdoor_deg_c", "degC", "mean of the hour"}, &R::outdoor_deg_c},
      {{"temperature_deg_c", "degC", "room, mean of the hour"}, &R::temperature_deg_c},
      {{"set_point_deg_c", "degC", "set point of ventilation and heater"}, &R::set_point_deg_c},
      {{"relative_humidity_percent", "%", "room, mean of the hour"}, &R::relative_humidity_percent},
      {{"heater_kwh", "kWh", "heat from the heater in the hour"}, &R::heater_kwh},
  };
  return list;
}

std::span<const Field<TaskRow>> TaskRow::fields() {
  using R = TaskRow;
  static const Field<R> list[] = {
      {replicate_info, &R::replicate},
      {group_info, &R::group},
      {{"kind", "-", "what was to be done", NameTable<TaskKind>::all}, &R::kind},
      {{"sow", "-", "the sow it was for; -1 for a round of the room"}, &R::sow},
      {{"animals", "-", "number of animals it was for"}, &R::animals},
      {{"asked_h", "h", "when it was requested"}, &R::asked_h},
      {{"due_h", "h", "deadline"}, &R::due_h},
      {{"started_h", "h", "missing if never started"}, &R::started_h},
      {{"done_h", "h", "missing if never done"}, &R::done_h},
      {{"minutes", "min", "of work, excluding waiting and interruptions"}, &R::minutes},
      {{"interruptions", "-", "times the person was called away, or left the rest to the next shift"},
       &R::interruptions},
      {{"outcome", "-", "done in time, late, or not done to its end", NameTable<TaskOutcome>::all}, &R::outcome},
  };
  return list;
}

std::span<const Field<WorkHourRow>> WorkHourRow::fields() {
  using R = WorkHourRow;
  static const Field<R> list[] = {
      {replicate_info, &R::replicate},
      {hour_of_day_info, &R::hour},
      {{"kind", "-", "what was done", NameTable<TaskKind>::all}, &R::kind},
      {{"minutes", "min", "worked in that hour, summed over all days counted and all people"}, &R::minutes},
  };
  return list;
}

std::span<const Field<DutyHourRow>> DutyHourRow::fields() {
  using R = DutyHourRow;
  static const Field<R> list[] = {
      {replicate_info, &R::replicate},
      {hour_of_day_info, &R::hour},
      {{"on_duty_min", "min",
        "of people on duty by the roster, summed over all days counted; breaks and absences excluded"},
       &R::on_duty_min},
      {{"days", "d", "days counted, over which this table and work_hours are summed"}, &R::days},
  };
  return list;
}

std::span<const Field<VisitRow>> VisitRow::fields() {
  using R = VisitRow;
  static const Field<R> list[] = {
      {replicate_info, &R::replicate},
      {group_info, &R::group},
      {{"kind", "-", "what was to be done", NameTable<TaskKind>::all}, &R::kind},
      {{"sow", "-", "the sow to be visited; -1 for an empty crate or the room"}, &R::sow},
      {{"asked_h", "h", "when the task was requested"}, &R::asked_h},
      {{"due_h", "h", "deadline of the task"}, &R::due_h},
      {{"given_up_h", "h", "when the task is given up if nobody has begun it; missing if never"}, &R::given_up_h},
      {{"started_h", "h", "when somebody came to her; missing if nobody did"}, &R::started_h},
      {{"done_h", "h", "when the visit was over; missing if it was not made to its end"}, &R::done_h},
      {{"minutes", "min", "of work, excluding waiting and interruptions; missing if it was not made to its end"},
       &R::minutes},
      {{"outcome", "-",
        "done in time, late, undone, left out by the share of visits that is not made as written, or called off "
        "because it was no longer needed",
        NameTable<VisitOutcome>::all},
       &R::outcome},
  };
  return list;
}

std::span<const Field<StretchRow>> StretchRow::fields() {
  using R = StretchRow;
  static const Field<R> list[] = {
      {replicate_info, &R::replicate},
      {{"kind", "-", "what was done", NameTable<TaskKind>::all}, &R::kind},
      {{"sow", "-", "the sow it was done for; -1 for an empty crate or the room"}, &R::sow},
      {{"from_h", "h", "when one person began or resumed the work"}, &R::from_h},
      {{"until_h", "h", "when it was finished or interrupted"}, &R::until_h},
  };
  return list;
}

std::span<const Field<RosterRow>> RosterRow::fields() {
  using R = RosterRow;
  static const Field<R> list[] = {
      {replicate_info, &R::replicate},
      {{"state", "-", "at work, or on a break of their shift", NameTable<RosterState>::all}, &R::state},
      {{"from_h", "h", "start of the period"}, &R::from_h},
      {{"until_h", "h", "end of the period"}, &R::until_h},
      {{"people", "-", "in that state, absent people excluded"}, &R::people},
  };
  return list;
}

std::span<const Field<DeathRow>> DeathRow::fields() {
  using R = DeathRow;
  static const Field<R> list[] = {
      {replicate_info, &R::replicate},
      {{"sow", "-", "dam: number of the sow on the farm, from 1"}, &R::sow},
      {{"birth_order", "-", "rank in the litter, from 1"}, &R::birth_order},
      {{"reared_by", "-", "the sow it nursed"}, &R::reared_by},
      {{"cause", "-", "cause of death", causes}, &R::cause},
      {{"orphaned", yes_or_no, "its sow had died and no other had room for it: no hazard was involved"}, &R::orphaned},
      {{"time_h", "h", "since the start"}, &R::time_h},
      {{"age_h", "h", "since its birth"}, &R::age_h},
      {{"birth_weight_kg", "kg", "at birth"}, &R::birth_weight_kg},
      {{"weight_kg", "kg", "at the last midnight, or at birth"}, &R::weight_kg},
      {{"below_mates_kg", "kg", "mean weight of its littermates less its own"}, &R::below_mates_kg},
      {{"colostrum_g", "g", "projected intake on the first day, bottle-fed scale"}, &R::colostrum_g},
      {{"room_deg_c", "degC", "room, mean of the day"}, &R::room_deg_c},
      {{"surplus_piglets", "piglets", "of the litter in excess of usable teats"}, &R::surplus_piglets},
      {{"unfed_share", "-", "of what the litter needs to live, missing from yesterday's milk"}, &R::unfed_share},
      {{"farrowing_duration_min", "min", "of its dam, up to that moment"}, &R::farrowing_duration_min},
      {{"stillborn", "piglets", "littermates at birth that were stillborn, up to that moment"}, &R::stillborn},
      {{"moves", "-", "times it was moved to another sow"}, &R::moves},
      {{"splay_legged", yes_or_no, "it had splay legs"}, &R::splay_legged},
      {{"scouring", yes_or_no, "it had scours then"}, &R::scouring},
      {{"cared_for", "-", "1 if it was dried, warmed and brought to the udder; missing where that no longer matters"},
       &R::cared_for},
      {{"parity", "-", "of the sow it nursed"}, &R::parity},
      {{"pen", yes_or_no, "she was in a pen, otherwise in a crate"}, &R::pen},
      {{"sow_ill", yes_or_no, "she had the post-partum disorder then"}, &R::sow_ill},
      {{"sow_lame", yes_or_no, "she had leg trouble then"}, &R::sow_lame},
      {{"low_drinker", yes_or_no, "she drank too little, while that counts"}, &R::low_drinker},
      {{"bad_start", yes_or_no, "her lactation began badly, while that counts"}, &R::bad_start},
      {{"hazard_per_day", "1/d", "of this cause, at which the piglet died; missing for an orphan"}, &R::hazard_per_day},
      {{"base_hazard_per_day", "1/d", "of this cause at this age, without any term"}, &R::base_hazard_per_day},
      {{"birth_weight_ratio", "-",
        "the hazard as a multiple of what it would have been at the weight above which hazards hardly fall; missing "
        "where it would have been 0, here and below"},
       &R::birth_weight_ratio},
      {{"colostrum_ratio", "-", "the same with enough colostrum"}, &R::colostrum_ratio},
      {{"below_mates_ratio", "-", "the same with littermates of its own weight"}, &R::below_mates_ratio},
      {{"temperature_ratio", "-", "the same in a room neither cold nor hot"}, &R::temperature_ratio},
      {{"surplus_ratio", "-", "the same with a usable teat for every piglet"}, &R::surplus_ratio},
      {{"unfed_ratio", "-", "the same with enough milk to live on"}, &R::unfed_ratio},
      {{"farrowing_ratio", "-", "the same after a short farrowing"}, &R::farrowing_ratio},
      {{"stillborn_ratio", "-", "the same without stillborn littermates"}, &R::stillborn_ratio},
      {{"moves_ratio", "-", "the same without moves"}, &R::moves_ratio},
      {{"splay_legs_ratio", "-", "the same without splay legs"}, &R::splay_legs_ratio},
      {{"sow_ratio", "-", "the same with a sow neither ill nor lame, who drank enough and started well"},
       &R::sow_ratio},
      {{"place_ratio", "-", "the same in a crate"}, &R::place_ratio},
      {{"care_ratio", "-", "the same without newborn care; below 1 where care protects it"}, &R::care_ratio},
      {{"parity_ratio", "-", "the same with a sow of second parity"}, &R::parity_ratio},
      {{"litter_ratio", "-", "the same in a litter of average frailty: what sets litters apart and is not explained"},
       &R::litter_ratio},
  };
  return list;
}

std::span<const Field<EventRow>> EventRow::fields() {
  using R = EventRow;
  static const Field<R> list[] = {
      {replicate_info, &R::replicate},
      {{"time_h", "h", "since the start"}, &R::time_h},
      {{"what", "-", "what happened", NameTable<EventKind>::all}, &R::what},
      {{"sow", "-", "number of the sow, from 1; -1 for the room"}, &R::sow},
      {{"piglet", "-", "birth rank in her litter, from 1; -1 if none"}, &R::piglet},
      {{"amount", "-",
        "kg fed or eaten, min of an interval, ...; `run --trace` prints what they mean; missing if there is none"},
       &R::amount},
      {{"detail", "-", "second number of the event; missing if there is none"}, &R::detail},
  };
  return list;
}

}  // namespace farrowtide
