#include "libsim/policy/fostering/rule.hpp"

#include <algorithm>
#include <cmath>
#include <sstream>

namespace farrowtide {
namespace {

constexpr double oldest_h = 28 * 24;  // that a window may allow
constexpr double rounding = 1e-9;     // so that 0.29 x 100 is 29 piglets

void read_window(Section& section, FosteringRule& rule) {
  Section window = section.section("window", "Age range in which a piglet may be moved.");
  rule.window_from = window.duration({.name = "from",
                                      .unit = "h",
                                      .low = 0,
                                      .high = oldest_h,
                                      .help = "Minimum age: it drinks its own dam's colostrum first.",
                                      .coefficient = "litter.fostering.window_from"});
  rule.window_until = window.duration({.name = "until",
                                       .unit = "h",
                                       .low = 0,
                                       .high = oldest_h,
                                       .help = "Maximum age: by then piglets own their teats, and a late move costs "
                                               "growth and carries disease between litters.",
                                       .coefficient = "litter.fostering.window_until"});
  if (rule.window_until <= rule.window_from && !section.describing())
    window.refuse("until", "is not later than from", "an age above from");
}

void read_limits(Section& section, FosteringRule& rule) {
  rule.max_moved = section.number({.name = "max_moved",
                                   .low = 0,
                                   .high = 1,
                                   .help = "Maximum share of the room's piglets born alive so far that is moved; 1 "
                                           "minus this is the minimum litter integrity. Moves carry disease between "
                                           "litters and cost growth. Piglets of a sow that died are moved even where "
                                           "it is reached, and count against it.",
                                   .coefficient = "litter.fostering.cap",
                                   .aliases = {"most_moved"}});
  rule.closed_after_day = section.integer({.name = "closed_after_day",
                                           .low = 0,
                                           .high = 28,
                                           .help = "No piglet is moved to a sow after this day of her lactation.",
                                           .coefficient = "litter.fostering_practice.closed_after_day"});
  rule.only_once =
      section.boolean({.name = "only_once",
                       .default_value = true,
                       .help = "Whether a piglet is moved at most once. Every further move costs it growth again."});
}

}  // namespace

FosteringRule FosteringRule::read(Section& section) {
  FosteringRule rule;
  rule.times =
      section.times_of_day({.name = "times",
                            .min_items = 1,
                            .max_items = 8,
                            .default_value = std::vector<std::string>{"09:00", "14:00"},
                            .help = "Clock times at which moves are planned; staff make them when they have time."});
  read_window(section, rule);
  read_limits(section, rule);
  rule.from_sick_litters =
      section.boolean({.name = "from_sick_litters",
                       .default_value = false,
                       .help = "Whether piglets of a scouring litter may be moved, which carries the scours to another "
                               "litter. No piglet is ever moved to a scouring litter or to a sow found ill. Ask the "
                               "herd veterinarian before setting it to true."});
  rule.nurse_sows = section.integer(
      {.name = "nurse_sows",
       .low = 0,
       .high = 5,
       .help = "Maximum number of nurse sows brought in for piglets left over. They carry disease from their own "
               "litters, and some refuse foster piglets: the herd veterinarian decides on nurse sows.",
       .coefficient = "litter.fostering_practice.nurse_sows"});
  return rule;
}

StaysFor FosteringRule::reason_to_stay(const FosteringView& view, const PigletView& piglet) const {
  if (piglet.age_h < window_from.hours()) return StaysFor::too_young;
  if (piglet.age_h > window_until.hours()) return StaysFor::too_old;
  if (only_once && piglet.moves > 0) return StaysFor::moved_before;
  const bool sick = piglet.scouring || view.litters[static_cast<std::size_t>(piglet.litter)].scouring;
  return sick && !from_sick_litters ? StaysFor::sick_litter : StaysFor::nothing;
}

bool FosteringRule::may_take(const LitterView& litter) const {
  const bool open = litter.brought_to_nurse || litter.lactation_day <= closed_after_day;
  return open && !litter.scouring && !litter.sow_ill;
}

std::vector<std::vector<int>> FosteringRule::movable(const FosteringView& view) const {
  std::vector<std::vector<int>> by_litter(view.litters.size());
  for (std::size_t i = 0; i < view.piglets.size(); ++i) {
    const PigletView& piglet = view.piglets[i];
    if (reason_to_stay(view, piglet) == StaysFor::nothing)
      by_litter[static_cast<std::size_t>(piglet.litter)].push_back(static_cast<int>(i));
  }
  return by_litter;
}

int FosteringRule::max_moves(const FosteringView& view) const {
  return static_cast<int>(std::floor(max_moved * view.born_alive + rounding));
}

// A piglet moved again counts again, so the limit always holds.
int FosteringRule::moves_left(const FosteringView& view) const { return std::max(0, max_moves(view) - view.moved); }

std::string FosteringRule::describe() const {
  std::ostringstream text;
  text << "from " << window_from.hours() << " to " << window_until.hours() << " h of age, at most " << 100 * max_moved
       << " % of the piglets born alive, " << (only_once ? "each once" : "also repeatedly")
       << ", to sows until lactation day " << closed_after_day;
  if (from_sick_litters) text << ", including scouring litters";
  if (nurse_sows > 0) text << ", with up to " << nurse_sows << " nurse sows";
  return text.str();
}

}  // namespace farrowtide
