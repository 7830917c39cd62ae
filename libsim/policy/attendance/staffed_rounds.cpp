#include "libsim/policy/attendance/staffed_rounds.hpp"

#include <sstream>

namespace farrowtide {
namespace {

double wait_min(Section& section, const char* name, const std::string& help, const char* coefficient) {
  return section.number({.name = name,
                         .unit = "min",
                         .low = 10,
                         .high = 240,
                         .help = help + " An internal examination is a skilled procedure: the herd veterinarian and "
                                        "local rules decide who makes it, and when.",
                         .coefficient = coefficient});
}

}  // namespace

void StaffedRounds::read_rounds(Section& section, const char* usual_every) {
  every_ = section.duration({.name = "round_every",
                             .unit = "min",
                             .low = 5,
                             .high = 240,
                             .help = "Time between rounds while staff are on duty.",
                             .coefficient = usual_every});
  help_after_min_ = wait_min(section, "help_after", "Time since her last birth after which a sow is first examined.",
                             "sow.farrowing.help.first_exam_after");
  help_again_after_min_ =
      wait_min(section, "help_again_after", "Time since her last birth after which she is examined again.",
               "sow.farrowing.help.next_exam_after");
  night_people_ =
      section.integer({.name = "night_people",
                       .low = 0,
                       .high = 5,
                       .default_value = 0,
                       .help = "People in the room from the end of the last shift to the start of the first. Working "
                               "alone at night is a hazard of its own: local rules on lone work apply."});
  care_intensity_ = section.number(
      {.name = "care_intensity",
       .low = 0,
       .high = 1,
       .help = "The extent of care for each newborn piglet: drying, clearing airways, warming, helping to the udder.",
       .coefficient = "sow.farrowing.help.care_intensity"});
}

bool StaffedRounds::help(const LabourView& view) const {
  return view.since_last_birth_min >= (view.exams == 0 ? help_after_min_ : help_again_after_min_);
}

std::string StaffedRounds::describe_rounds() const {
  std::ostringstream text;
  text << "farrowing rounds every " << every_.minutes() << " min, help after " << help_after_min_
       << " min without a birth and again after " << help_again_after_min_ << " min";
  if (night_people_ > 0) text << ", " << night_people_ << (night_people_ == 1 ? " person" : " people") << " at night";
  return text.str();
}

}  // namespace farrowtide
