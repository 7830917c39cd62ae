#include "libsim/policy/feeding/hand.hpp"

namespace farrowtide {

std::shared_ptr<const FeedingPolicy> HandFeeding::read(Section& section) {
  auto policy = std::make_shared<HandFeeding>();
  policy->lactation_.rounds = section.times_of_day({.name = "times",
                                                    .least = 1,
                                                    .most = 8,
                                                    .standard = std::vector<std::string>{"07:00", "15:00"},
                                                    .help = "Clock times of the feeds once she has farrowed."});
  policy->lactation_.allowance = section.read<DailyAllowance>("allowance", "How much a sow is allowed a day.");
  policy->water_added_ = section.yes_no(
      {.name = "water_added", .standard = false, .help = "Water is given into the trough with the feed."});
  policy->pre_farrow_ = section.read<PreFarrowFeeding>("pre_farrow", "Feeding between loading and farrowing.");
  policy->rounds_ = merged(policy->lactation_.rounds, policy->pre_farrow_.rounds);
  return policy;
}

std::optional<FeedingDecision> HandFeeding::decide(const FeedingView& view) const {
  return view.farrowed ? lactation_.decide(view) : pre_farrow_.decide(view);
}

std::string HandFeeding::describe() const {
  return "fed by hand " + std::to_string(lactation_.rounds.size()) +
         (lactation_.rounds.size() == 1 ? " time" : " times") + " a day, " + lactation_.allowance.describe();
}

}  // namespace farrowtide
