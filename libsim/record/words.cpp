#include "libsim/record/words.hpp"

#include <cmath>
#include <cstdio>

#include "libsim/kernel/errors.hpp"
#include "libsim/kernel/time.hpp"
#include "libsim/policy/care/care.hpp"
#include "libsim/policy/fostering/fostering.hpp"

namespace farrowtide {
namespace {

std::string number(double value, int decimals) {
  char text[64];
  std::snprintf(text, sizeof text, "%.*f", decimals, value);
  return text;
}

std::string kg(double value) { return number(value, 2) + " kg"; }
std::string minutes(double value) { return number(value, 0) + " min"; }
bool known(double value) { return !std::isnan(value); }

std::string piglet(const EventRow& event) { return "piglet " + std::to_string(event.piglet); }

std::string after_the_last(double interval_min) {
  return interval_min > 0 ? ", " + minutes(interval_min) + " after the last" : "";
}

// Of a value that the event carries as a number.
template <class Enum>
std::string coded_label(double code) {
  return std::string(label_of(static_cast<Enum>(code)));
}

std::string counted(double count, const std::string& one, const std::string& many) {
  return number(count, 0) + " " + (count == 1 ? one : many);
}

std::string teats_wanted(double surplus_piglets) {
  if (surplus_piglets == 0) return "every piglet has a teat";
  return counted(surplus_piglets, "piglet too many for the teats of its dam",
                 "piglets too many for the teats of their dams");
}

std::string free_teats(double teats) {
  return teats == 0 ? "no teat of another sow is free"
                    : counted(teats, "teat of another sow is free", "teats of other sows are free");
}

std::string sentence(const EventRow& event) {
  const double amount = event.amount, detail = event.detail;
  switch (static_cast<EventKind>(event.what)) {
    case EventKind::sow_loaded:
      return "is in her crate, " + number(amount, 0) + " kg without the litter, farrowing number " + number(detail, 0);
    case EventKind::feed_delivered:
      return "gets " + kg(amount) + " of feed";
    case EventKind::meal_eaten:
      return "eats " + kg(amount) + " in " + minutes(detail);
    case EventKind::trough_spoiled_refused:
      return "is hungry but refuses the stale feed in her trough";
    case EventKind::trough_cleaned:
      return "has her trough cleaned, " + kg(amount) + " taken out";
    case EventKind::labour_began:
      return "begins to farrow" + (known(detail) ? ", " + number(detail, 1) + " h after her last meal" : std::string());
    case EventKind::piglet_born:
      return piglet(event) + " is born, " + kg(amount) + after_the_last(detail);
    case EventKind::piglet_stillborn:
      return piglet(event) + " is born dead, " + kg(amount) + after_the_last(detail);
    case EventKind::piglet_revived:
      return piglet(event) + " is revived";
    case EventKind::exam_made:
      return "is examined, number " + number(amount, 0) +
             (detail > 0 ? ": a piglet is freed" : ": nothing can be done yet");
    case EventKind::inertia_began:
      return "tires: labour slackens for " + minutes(amount);
    case EventKind::farrowing_finished:
      return "has farrowed in " + minutes(amount) + ", " + number(detail, 0) + " piglets alive";
    case EventKind::piglet_died:
      return piglet(event) + " dies at " + number(amount, 1) + " d: " + coded_label<DeathCause>(detail - 1);
    case EventKind::day_balanced:
      return "ate " + kg(amount) + " yesterday and " + (detail < 0 ? "lost " : "gained ") + kg(std::abs(detail));
    case EventKind::litter_weaned:
      return "is weaned of " + number(detail, 0) + " piglets, " + number(amount, 1) + " kg together";
    case EventKind::shift_began:
      return number(amount, 0) + " at work";
    case EventKind::shift_ended:
      return "nobody at work";
    case EventKind::drinker_clogged:
      return amount > 0 ? "has a clogged drinker, " + number(amount, 2) + " L/min left" : "has a drinker without water";
    case EventKind::drinker_mended:
      return "has her drinker cleared";
    case EventKind::gilt_trained:
      return "is taught to drink and eat here";
    case EventKind::gilt_learned:
      return "knows how to drink and eat here";
    case EventKind::placenta_out:
      return "has passed the last placenta" + std::string(detail > 0 ? ", a part is retained" : "");
    case EventKind::fell_ill:
      return "falls ill with the post-partum disorder";
    case EventKind::recovered:
      return "is well again after " + number(amount, 1) + " d";
    case EventKind::sign_found:
      return "shows a sign of illness: " + coded_label<Sign>(amount);
    case EventKind::sow_treated:
      return "is treated as the veterinarian has laid down";
    case EventKind::sow_died:
      return "dies, " + number(amount, 0) + " piglets are left";
    case EventKind::piglet_moved:
      return piglet(event) + " of sow " + number(amount, 0) + " is moved to her, " + number(detail, 1) + " kg";
    case EventKind::scours_began:
      return number(amount, 0) + " of her piglets scour";
    case EventKind::litter_disturbed:
      return "is disturbed and will eat less for " + number(amount, 0) + " h";
    case EventKind::temperature_taken:
      return "has a rectal temperature of " + number(amount, 1) + " degC";
    case EventKind::trough_checked:
      return "has " + number(amount, 1) + " kg left in the trough" +
             (detail >= 0 ? ", is allowed " + number(detail, 1) + " kg a day" : std::string());
    case EventKind::sow_flagged:
      return "has left her feed untouched, morning " + number(amount, 0);
    case EventKind::stood_up:
      return "is made to stand up";
    case EventKind::moves_planned:
      return teats_wanted(amount) + ", " + free_teats(detail) +
             (amount > 0 ? ": moves are planned" : ": moves are planned to even out or sort litters");
    case EventKind::piglets_left_over:
      return counted(amount, "piglet is", "piglets are") + " left without a teat: " + coded_label<LeftOver>(detail);
  }
  throw InternalError("an event of a kind without words");
}

}  // namespace

std::string in_words(const EventRow& event) {
  const Time time{Duration{std::llround(event.time_h * 3600)}};
  const std::string who = event.sow > 0 ? "sow " + std::to_string(event.sow) : "staff";
  return to_string(time) + "  " + who + ": " + sentence(event);
}

}  // namespace farrowtide
