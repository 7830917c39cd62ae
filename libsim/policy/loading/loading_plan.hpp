// What all plans of this family share: the day of loading, and who teaches first-parity sows to drink and eat.
#pragma once

#include <string>

#include "libsim/policy/loading/loading.hpp"

namespace farrowtide {

class LoadingPlan : public LoadingPolicy {
 public:
  int days_before_due() const override { return days_before_due_; }
  bool teach(const GiltView& view) const override;

 protected:
  void read_plan(Section& section);
  std::string describe_plan() const;  // "loaded 4 days before due, every gilt taught once"

 private:
  enum class Taught { everyone, slow_to_eat, nobody };
  enum class Lessons { one, until_she_eats };

  int days_before_due_ = 0;
  Taught taught_ = Taught::everyone;
  Lessons lessons_ = Lessons::one;
  double slow_below_kg_ = 0;
};

}  // namespace farrowtide
