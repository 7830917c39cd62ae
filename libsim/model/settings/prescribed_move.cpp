#include "libsim/model/settings/prescribed_move.hpp"

namespace farrowtide {

PrescribedMove PrescribedMove::read(Section& section) {
  PrescribedMove move;
  move.day =
      section.integer({.name = "day", .low = 0, .high = 60, .help = "Day of the move; day 0 is the day of loading."});
  move.time = section.time_of_day({.name = "time", .default_value = "10:00", .help = "Time of day."});
  move.from =
      section.integer({.name = "from", .low = 1, .high = 500, .help = "Number of the sow the piglets are taken from."});
  move.to = section.integer({.name = "to", .low = 1, .high = 500, .help = "Number of the sow that receives them."});
  move.piglets = section.integer({.name = "piglets", .low = 1, .high = 30, .help = "Number of piglets to move."});
  move.which = section.choice<Which>(
      {.name = "which", .default_value = "middle", .help = "Which of the piglets to move, by weight."});
  if (move.from == move.to) section.refuse("to", "is the sow the piglets are taken from", "another sow");
  return move;
}

}  // namespace farrowtide
