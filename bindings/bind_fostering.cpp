// A fostering plan on its own, without running a room.
#include <tuple>

#include "bindings/bind.hpp"
#include "libsim/policy/fostering/fostering.hpp"
#include "libsim/scenario/document.hpp"

namespace farrowtide {
namespace py = pybind11;
namespace {

// parity, teats, nursing, lactation_day, since_farrowing_h, mean_kg, scouring, sow_ill
using LitterRow = std::tuple<int, int, int, int, double, double, bool, bool>;
// litter, weight_kg, age_h, moves, scouring
using PigletRow = std::tuple<int, double, double, int, bool>;

struct Fostering {
  std::shared_ptr<const FosteringPolicy> policy;
  static Fostering read(Section& section) {
    return {section.variants({.name = "kind", .help = "Aim of the moves."}, fostering_catalogue())};
  }
};

FosteringView view_of(const std::vector<LitterRow>& litters, const std::vector<PigletRow>& piglets) {
  FosteringView view;
  for (const auto& [parity, teats, nursing, day, since_h, mean_kg, scouring, ill] : litters) {
    const int number = static_cast<int>(view.litters.size());
    view.litters.push_back({.sow = number,
                            .parity = parity,
                            .teats = teats,
                            .nursing = nursing,
                            .lactation_day = day,
                            .since_farrowing_h = since_h,
                            .mean_kg = mean_kg,
                            .scouring = scouring,
                            .sow_ill = ill});
  }
  for (const auto& [litter, weight_kg, age_h, moves, scouring] : piglets) {
    if (litter < 0 || litter >= static_cast<int>(litters.size()))
      throw UserError("a piglet belongs to a litter that is not in `litters`");
    view.piglets.push_back(
        {.litter = litter, .weight_kg = weight_kg, .age_h = age_h, .moves = moves, .scouring = scouring});
  }
  return view;
}

py::tuple plan_fostering(const Coefficients& coefficients, const std::string& settings,
                         const std::vector<LitterRow>& litters, const std::vector<PigletRow>& piglets, int born_alive,
                         int moved) {
  const auto policy = read_settings<Fostering>(Document::from_text(settings, "settings"), coefficients).policy;
  FosteringView view = view_of(litters, piglets);
  view.born_alive = born_alive;
  view.moved = moved;
  const FosteringPlan plan = policy->plan(view);
  std::vector<std::pair<int, int>> moves;
  for (const FosterMove& move : plan.moves) moves.emplace_back(move.piglet, move.to);
  return py::make_tuple(moves, plan.cost, plan.what_is_missing);
}

}  // namespace

void bind_fostering(py::module_& module) {
  module.def(
      "plan_fostering", &plan_fostering, py::arg("coefficients"), py::arg("settings"), py::arg("litters"),
      py::arg("piglets"), py::arg("born_alive"), py::arg("moved"),
      "The plan of a fostering policy whose keys are given as YAML text: moves (index of a piglet, index of the litter "
      "it goes to), their cost, and a sentence on what could not be achieved. Raises UserError.");
}

}  // namespace farrowtide
