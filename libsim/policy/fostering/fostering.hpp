// The fostering family: which piglets are moved to which sow. Decisions only; staff make the moves, perhaps late.
#pragma once

#include <array>
#include <memory>
#include <span>
#include <string>
#include <vector>

#include "libsim/kernel/names.hpp"
#include "libsim/kernel/time.hpp"
#include "libsim/policy/catalogue.hpp"

namespace farrowtide {

// A sow that has farrowed, and the piglets that nurse her.
struct LitterView {
  int sow = 0;  // her number
  int parity = 1;
  int teats = 0;  // functional
  int nursing = 0;
  int lactation_day = 0;
  double since_farrowing_h = 0;   // since her last birth
  double mean_kg = 0;             // of the piglets that nurse her
  bool scouring = false;          // any of them
  bool sow_ill = false;           // as staff know
  bool brought_to_nurse = false;  // a nurse sow from elsewhere on the farm
};

// A piglet that may be moved.
struct PigletView {
  int litter = 0;  // index in FosteringView::litters
  double weight_kg = 0;
  double age_h = 0;
  int moves = 0;  // so far
  bool scouring = false;
};

struct FosteringView {
  std::vector<LitterView> litters;  // in order of the sows' numbers
  std::vector<PigletView> piglets;  // litter by litter, in order of birth
  int born_alive = 0;               // in the room so far
  int moved = 0;                    // piglets moved so far, each once
};

struct FosterMove {
  int piglet = 0;  // index in FosteringView::piglets
  int to = 0;      // index in FosteringView::litters
};

// Why a piglet is left without a teat of its own once the moves of a plan are made.
enum class LeftOver { too_young, too_old, moved_before, sick_litter, too_few_teats, limit_of_moves, not_worth_a_move };
constexpr auto names(LeftOver) {
  using enum LeftOver;
  return std::to_array<Name<LeftOver>>({
      {too_young, "too young", "too young to be moved"},
      {too_old, "too old", "too old to be moved"},
      {moved_before, "moved before", "already moved"},
      {sick_litter, "sick litter", "in a scouring litter"},
      {too_few_teats, "too few teats", "no usable teat is free"},
      {limit_of_moves, "limit of moves", "the limit on moves is reached"},
      {not_worth_a_move, "not worth a move", "a move would cost more than it gains"},
  });
}

struct FosteringPlan {
  std::vector<FosterMove> moves;
  int surplus_piglets = 0;  // above the teats of their litters
  int free_teats = 0;       // of sows that may take piglets

  // What could not be done and why: "62 surplus piglets, 31 free functional teats"; empty if nothing.
  std::string what_is_missing;
  std::array<int, NameTable<LeftOver>::size>
      left_over{};  // piglets without a teat once the moves are made, by LeftOver

  double cost = 0;  // of the room with the moves minus without, in the planner's own units
};

class FosteringPolicy {
 public:
  virtual ~FosteringPolicy() = default;

  // Clock times at which moves are planned; none: never.
  virtual std::span<const Duration> times() const = 0;

  virtual FosteringPlan plan(const FosteringView& view) const = 0;

  // Sows that may be brought in to nurse, when a plan leaves surplus piglets.
  virtual int nurse_sows() const = 0;

  // One sentence for reports and `explain`.
  virtual std::string describe() const = 0;
};

std::span<const CatalogueEntry<FosteringPolicy>> fostering_catalogue();

}  // namespace farrowtide
