#include "libsim/policy/loading/loading_plan.hpp"

#include <utility>
#include <vector>

namespace farrowtide {

LoadingPlan::LoadingPlan(GiltPlaces places, Section& section) : places_(places) {
  days_before_due_ = section.integer({.name = "days_before_due",
                                      .low = 2,
                                      .high = 10,
                                      .help = "Days from loading to the group's mean due date.",
                                      .coefficient = "sow.herd.loading_before_mean_due_date"});
  taught_ = section.choice<Taught>(
      {.name = "teach",
       .default_value = "everyone",
       .help = "Which first-parity sows are shown how to drink and eat: all, when they are loaded (everyone), those "
               "that have eaten little since the day before, from the morning after loading (slow_to_eat), or none "
               "(nobody)."});
  const bool again = section.boolean(
      {.name = "again",
       .default_value = false,
       .help = "Whether she is shown again each morning for as long as she has eaten little since the day before."});
  lessons_ = again ? Lessons::until_she_eats : Lessons::one;
  if (again && taught_ == Taught::nobody && !section.describing())
    section.refuse("again", "has no effect when no sow is taught", "teach: everyone or slow_to_eat");
  ready_within_ = section.duration({.name = "ready_within",
                                    .unit = "h",
                                    .low = 1,
                                    .high = 120,
                                    .help = "Time from loading within which first-parity sows should have learned to "
                                            "drink and to eat; the share that has is an output, and nothing else "
                                            "follows from it.",
                                    .coefficient = "staff.practice.gilts_ready_within"});
  slow_below_kg_ = section.coefficients().number("staff.practice.slow_to_eat", "kg");
}

bool LoadingPlan::teach(const GiltView& view) const {
  if (taught_ == Taught::nobody) return false;
  const bool slow = view.days_in_room > 0 && view.eaten_since_yesterday_kg < slow_below_kg_;
  if (view.times_taught > 0) return lessons_ == Lessons::until_she_eats && slow;
  return taught_ == Taught::everyone || slow;
}

std::string LoadingPlan::describe_lessons() const {
  if (taught_ == Taught::nobody) return "no gilt taught to drink and eat";
  const bool every = taught_ == Taught::everyone;
  return std::string(every ? "every gilt" : "gilts that are slow to eat") + " taught " +
         (lessons_ == Lessons::one ? "once"
          : every                  ? "until she eats"
                                   : "until they eat");
}

std::string LoadingPlan::describe() const {
  return "loaded " + std::to_string(days_before_due_) + " days before due, " + describe_lessons() + "; gilts stand " +
         (places_ == GiltPlaces::spread ? "spread over the room" : "side by side");
}

}  // namespace farrowtide
