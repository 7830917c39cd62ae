// When the group is loaded, where first-parity sows stand, and which of them are shown how to drink and eat.
#pragma once

#include <memory>
#include <string>

#include "libsim/policy/loading/loading.hpp"

namespace farrowtide {

class LoadingPlan final : public LoadingPolicy {
 public:
  LoadingPlan(GiltPlaces places, Section& section);

  int days_before_due() const override { return days_before_due_; }
  GiltPlaces gilt_places() const override { return places_; }
  Duration gilts_ready_within() const override { return ready_within_; }
  bool teach(const GiltView& view) const override;
  std::string describe()
      const override;  // "loaded 4 days before due, every gilt taught once; gilts stand side by side"

 private:
  enum class Taught { everyone, slow_to_eat, nobody };
  friend constexpr auto names(Taught) {
    using enum Taught;
    return std::to_array<Name<Taught>>({{everyone, "everyone"}, {slow_to_eat, "slow_to_eat"}, {nobody, "nobody"}});
  }
  enum class Lessons { one, until_she_eats };

  std::string describe_lessons() const;

  GiltPlaces places_;
  int days_before_due_ = 0;
  Duration ready_within_;
  Taught taught_ = Taught::everyone;
  Lessons lessons_ = Lessons::one;
  double slow_below_kg_ = 0;
};

}  // namespace farrowtide
