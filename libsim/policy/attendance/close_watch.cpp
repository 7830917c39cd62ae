#include "libsim/policy/attendance/close_watch.hpp"

#include <sstream>

namespace farrowtide {

std::shared_ptr<const AttendancePolicy> CloseWatch::read(Section& section) {
  auto policy = std::make_shared<CloseWatch>();
  policy->read_rounds(section, "staff.practice.close_round_every");
  policy->look_every_min_ =
      section.number({.name = "look_every",
                      .unit = "min",
                      .low = 5,
                      .high = 240,
                      .help = "A sow in labour is visited at least this often: a round skips her if the "
                              "next one will still come in time.",
                      .coefficient = "staff.practice.close_look_every"});
  policy->worry_after_min_ =
      section.number({.name = "worry_after",
                      .unit = "min",
                      .low = 5,
                      .high = 240,
                      .help = "Every round visits a sow whose last birth was at least this long ago.",
                      .coefficient = "staff.practice.worry_after"});
  return policy;
}

bool CloseWatch::look_at(const LabourView& view) const {
  return view.since_last_look_min.value_or(look_every_min_) + round_every()->minutes() > look_every_min_ ||
         view.since_last_birth_min >= worry_after_min_;
}

std::string CloseWatch::describe() const {
  std::ostringstream text;
  text << describe_rounds() << "; each sow visited every " << look_every_min_ << " min, and on every round once "
       << worry_after_min_ << " min have passed without a birth";
  return text.str();
}

}  // namespace farrowtide
