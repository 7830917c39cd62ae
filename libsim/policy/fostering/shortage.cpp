#include "libsim/policy/fostering/shortage.hpp"

#include <algorithm>
#include <array>
#include <sstream>

namespace farrowtide {
namespace {

constexpr std::array reasons = {StaysFor::too_old, StaysFor::sick_litter, StaysFor::moved_before, StaysFor::too_young};

std::string count_of(int count, const std::string& singular, const std::string& plural) {
  return std::to_string(count) + " " + (count == 1 ? singular : plural);
}

int surplus(const LitterView& litter) { return std::max(0, litter.nursing - litter.teats); }

FosteringView after(FosteringView view, const std::vector<FosterMove>& moves) {
  for (const FosterMove& move : moves) {
    PigletView& piglet = view.piglets[static_cast<std::size_t>(move.piglet)];
    --view.litters[static_cast<std::size_t>(piglet.litter)].nursing;
    ++view.litters[static_cast<std::size_t>(move.to)].nursing;
    piglet.litter = move.to;
    ++piglet.moves;
    ++view.moved;
  }
  return view;
}

// Piglets of a litter by reason to stay.
std::array<int, 5> staying(const FosteringView& view, const FosteringRule& rule, int litter) {
  std::array<int, 5> count{};
  for (const PigletView& piglet : view.piglets)
    if (piglet.litter == litter) ++count[static_cast<std::size_t>(rule.reason_to_stay(view, piglet))];
  return count;
}

// Surplus piglets by reason to stay; those without one are left over because of the limit, the teats or the cost.
std::array<int, 5> surplus_by_reason(const FosteringView& view, const FosteringRule& rule) {
  std::array<int, 5> left{};
  for (std::size_t i = 0; i < view.litters.size(); ++i) {
    const auto held = staying(view, rule, static_cast<int>(i));
    auto& movable = left[static_cast<std::size_t>(StaysFor::nothing)];
    int rest = surplus(view.litters[i]) - std::min(surplus(view.litters[i]), held[0]);
    movable += surplus(view.litters[i]) - rest;
    for (const StaysFor reason : reasons) {
      const int kept = std::min(rest, held[static_cast<std::size_t>(reason)]);
      left[static_cast<std::size_t>(reason)] += kept;
      rest -= kept;
    }
  }
  return left;
}

std::string words_for(StaysFor reason, const FosteringRule& rule) {
  std::ostringstream text;
  switch (reason) {
    case StaysFor::too_old:
      text << "too old, the window closes at " << rule.window_until.hours() << " h of age";
      break;
    case StaysFor::too_young:
      text << "not yet " << rule.window_from.hours() << " h old";
      break;
    case StaysFor::moved_before:
      text << "already moved";
      break;
    case StaysFor::sick_litter:
      text << "in scouring litters";
      break;
    case StaysFor::nothing:
      break;
  }
  return text.str();
}

std::string words_for_the_rest(const FosteringView& view, const FosteringRule& rule, int free, int movable) {
  std::ostringstream text;
  if (rule.moves_left(view) == 0) {
    text << "; no more than " << rule.max_moves(view) << " may be moved (" << 100 * rule.max_moved << " % of "
         << view.born_alive << " born alive)";
  } else if (movable > 0 && free > 0) {
    text << "; " << movable
         << (movable == 1 ? " move would cost more than it gains" : " moves would cost more than they gain");
  }
  return text.str();
}

}  // namespace

int surplus_piglets(const FosteringView& view) {
  int sum = 0;
  for (const LitterView& litter : view.litters) sum += surplus(litter);
  return sum;
}

int free_teats(const FosteringView& view, const FosteringRule& rule) {
  int sum = 0;
  for (const LitterView& litter : view.litters)
    if (rule.may_take(litter)) sum += std::max(0, litter.teats - litter.nursing);
  return sum;
}

std::array<int, 7> left_over(const FosteringView& view, const FosteringRule& rule,
                             const std::vector<FosterMove>& moves) {
  const FosteringView then = after(view, moves);
  const auto by_reason = surplus_by_reason(then, rule);
  const int movable = by_reason[static_cast<std::size_t>(StaysFor::nothing)];
  const int placeable = std::min(movable, free_teats(then, rule));
  std::array<int, 7> left{};
  const auto at = [&](LeftOver why) -> int& { return left[static_cast<std::size_t>(why)]; };
  at(LeftOver::too_young) = by_reason[static_cast<std::size_t>(StaysFor::too_young)];
  at(LeftOver::too_old) = by_reason[static_cast<std::size_t>(StaysFor::too_old)];
  at(LeftOver::moved_before) = by_reason[static_cast<std::size_t>(StaysFor::moved_before)];
  at(LeftOver::sick_litter) = by_reason[static_cast<std::size_t>(StaysFor::sick_litter)];
  at(LeftOver::too_few_teats) = movable - placeable;
  at(rule.moves_left(then) < placeable ? LeftOver::limit_of_moves : LeftOver::not_worth_a_move) = placeable;
  return left;
}

std::string what_is_missing(const FosteringView& view, const FosteringRule& rule,
                            const std::vector<FosterMove>& moves) {
  const FosteringView then = after(view, moves);
  if (surplus_piglets(then) == 0) return {};
  std::ostringstream text;
  text << count_of(surplus_piglets(view), "surplus piglet", "surplus piglets") << ", "
       << count_of(free_teats(view, rule), "free functional teat", "free functional teats");
  const auto left = surplus_by_reason(then, rule);
  for (const StaysFor reason : reasons)
    if (const int piglets = left[static_cast<std::size_t>(reason)]; piglets > 0)
      text << "; " << piglets << " " << words_for(reason, rule);
  text << words_for_the_rest(then, rule, free_teats(then, rule), left[static_cast<std::size_t>(StaysFor::nothing)]);
  return text.str();
}

}  // namespace farrowtide
