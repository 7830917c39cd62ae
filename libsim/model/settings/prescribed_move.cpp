#include "libsim/model/settings/prescribed_move.hpp"

namespace farrowtide {

PrescribedMove PrescribedMove::read(Section& section) {
  PrescribedMove move;
  move.day = section.integer({.name = "day", .low = 0, .high = 60, .help = "Day of the scenario; day 0 is loading."});
  move.time = section.time_of_day({.name = "time", .default_value = "10:00", .help = "Clock time."});
  move.from = section.integer({.name = "from", .low = 1, .high = 500, .help = "Number of the sow that gives piglets."});
  move.to = section.integer({.name = "to", .low = 1, .high = 500, .help = "Number of the sow that gets them."});
  move.piglets = section.integer({.name = "piglets", .low = 1, .high = 30, .help = "How many piglets."});
  move.which =
      section.choice<Which>({.name = "which", .default_value = "middle", .help = "Which of her piglets, by weight."});
  if (move.from == move.to) section.refuse("to", "is the sow the piglets come from", "another sow");
  return move;
}

}  // namespace farrowtide
