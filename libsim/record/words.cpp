#include "libsim/record/words.hpp"

#include <array>
#include <charconv>
#include <cmath>

#include "libsim/kernel/errors.hpp"
#include "libsim/kernel/time.hpp"
#include "libsim/policy/care/care.hpp"
#include "libsim/policy/fostering/fostering.hpp"

namespace farrowtide {
namespace {

// With a decimal point, whatever locale the program around the engine has chosen.
std::string number(double value, int decimals) {
  std::array<char, 400> text{};  // for the largest double
  const auto [end, error] =
      std::to_chars(text.data(), text.data() + text.size(), value, std::chars_format::fixed, decimals);
  return {text.data(), end};
}

std::string kg(double value) { return number(value, 2) + " kg"; }
std::string minutes(double value) { return number(value, 0) + " min"; }
bool known(double value) { return !std::isnan(value); }

std::string piglet(const EventRow& event) { return "piglet " + std::to_string(event.piglet); }

std::string after_the_last(double interval_min) {
  return interval_min > 0 ? ", " + minutes(interval_min) + " after the previous birth" : "";
}

// Of a value that the event carries as a number.
template <class Enum>
std::string coded_label(double code) {
  return std::string(label_of(static_cast<Enum>(code)));
}

std::string counted(double count, const std::string& one, const std::string& many) {
  return number(count, 0) + " " + (count == 1 ? one : many);
}

std::string surplus_and_free_teats(double surplus_piglets, double free_teats) {
  const auto count_or_none = [](double count, const std::string& one, const std::string& many) {
    return count == 0 ? "no " + many : counted(count, one, many);
  };
  return count_or_none(surplus_piglets, "surplus piglet", "surplus piglets") + ", " +
         count_or_none(free_teats, "free teat on another sow", "free teats on other sows");
}

// "died of thirst" is "dies of thirst" at the time.
std::string death_of_sow(SowFate fate) {
  constexpr std::string_view past = "died";
  return "dies" + std::string(label_of(fate).substr(past.size()));
}

std::string sentence(const EventRow& event) {
  const double amount = event.amount, detail = event.detail;
  switch (static_cast<EventKind>(event.what)) {
    case EventKind::sow_loaded:
      return "is loaded into her crate, " + number(amount, 0) + " kg without the litter, parity " + number(detail, 0);
    case EventKind::feed_delivered:
      return "is given " + kg(amount) + " of feed" +
             (detail > 0 ? "; " + kg(detail) + " more do not fit into her trough" : std::string());
    case EventKind::meal_eaten:
      return "eats " + kg(amount) + " in " + minutes(detail);
    case EventKind::trough_spoiled_refused:
      return "is hungry but refuses the stale feed in her trough";
    case EventKind::trough_cleaned:
      return "has her trough cleaned, " + kg(amount) + " removed";
    case EventKind::labour_began:
      return "begins to farrow" + (known(detail) ? ", " + number(detail, 1) + " h after her last meal" : std::string());
    case EventKind::piglet_born:
      return piglet(event) + " is born, " + kg(amount) + after_the_last(detail);
    case EventKind::piglet_stillborn:
      return piglet(event) + " is stillborn, " + kg(amount) + after_the_last(detail);
    case EventKind::piglet_revived:
      return piglet(event) + " is revived";
    case EventKind::exam_made:
      return "is examined (exam " + number(amount, 0) +
             (detail > 0 ? "): a piglet is delivered" : "): no piglet can be delivered yet");
    case EventKind::inertia_began:
      return "tires: labour slows down for " + minutes(amount);
    case EventKind::farrowing_finished:
      return "finishes farrowing after " + minutes(amount) + ", " + number(detail, 0) + " piglets alive";
    case EventKind::piglet_died:
      return piglet(event) + " dies at " + number(amount, 1) + " d of age: " + coded_label<DeathCause>(detail - 1);
    case EventKind::day_balanced:
      return "ate " + kg(amount) + " yesterday and " + (detail < 0 ? "lost " : "gained ") + kg(std::abs(detail)) +
             " of body weight";
    case EventKind::litter_weaned:
      return "is weaned, " + number(detail, 0) + " piglets with a total of " + number(amount, 1) + " kg";
    case EventKind::shift_began:
      return counted(amount, "person", "people") + " on duty";
    case EventKind::shift_ended:
      return "no one on duty";
    case EventKind::drinker_clogged:
      return amount > 0 ? "has a clogged drinker, " + number(amount, 2) + " L/min left" : "has a drinker without water";
    case EventKind::drinker_mended:
      return "has her drinker cleared";
    case EventKind::gilt_trained:
      return "is shown how to drink and eat in the crate";
    case EventKind::gilt_learned:
      return std::string("has learned to use her ") + (amount > 0 ? "feeder" : "drinker");
    case EventKind::placenta_out:
      return "has passed the last placenta" + std::string(detail > 0 ? ", but a part is retained" : "");
    case EventKind::fell_ill:
      return "falls ill with post-partum disorder";
    case EventKind::recovered:
      return "recovers after " + number(amount, 1) + " d";
    case EventKind::sign_found:
      return "shows a sign of illness: " + coded_label<Sign>(amount);
    case EventKind::sow_treated:
      return "is treated as prescribed by the herd veterinarian";
    case EventKind::sow_died:
      return death_of_sow(static_cast<SowFate>(detail)) + " and leaves " + counted(amount, "piglet", "piglets");
    case EventKind::piglet_moved:
      return piglet(event) + " of sow " + number(amount, 0) + " is moved to her, " + number(detail, 1) + " kg";
    case EventKind::scours_began:
      return "has " + counted(amount, "piglet", "piglets") + " with scours";
    case EventKind::litter_disturbed:
      return "is disturbed by the handling of her litter and eats less for " + number(amount, 0) + " h";
    case EventKind::temperature_taken:
      return "has a rectal temperature of " + number(amount, 1) + " degC";
    case EventKind::trough_checked:
      return "has " + number(amount, 1) + " kg left in the trough" +
             (detail >= 0 ? ", and an allowance of " + number(detail, 1) + " kg/d" : std::string());
    case EventKind::sow_flagged:
      return "has left her feed untouched on " + counted(amount, "morning", "consecutive mornings");
    case EventKind::stood_up:
      return "is made to stand up";
    case EventKind::moves_planned:
      return surplus_and_free_teats(amount, detail) +
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
  const std::string day_and_second = to_string(time);
  return day_and_second.substr(0, day_and_second.rfind(':')) + "  " + who + ": " + sentence(event);
}

}  // namespace farrowtide
