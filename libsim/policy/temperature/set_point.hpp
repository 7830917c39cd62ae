// One set point of a policy: as the scenario sets it, or the default, which is higher over a deep pit.
#pragma once

#include <algorithm>

#include "libsim/policy/temperature/temperature.hpp"
#include "libsim/scenario/section.hpp"

namespace farrowtide {

class SetPoint {
 public:
  static SetPoint read(Section& section, const Number& key) {
    const bool set_by_user = section.has(key.name) || std::ranges::any_of(key.aliases, [&](const std::string& alias) {
                               return section.has(alias);
                             });
    SetPoint point;
    point.deg_c_ = section.number(key);
    if (!set_by_user) point.over_deep_pit_k_ = section.coefficients().number("room.pit.deep_pit_set_point_offset", "K");
    return point;
  }

  double deg_c(bool deep_pit = false) const { return deg_c_ + (deep_pit ? over_deep_pit_k_ : 0); }

 private:
  double deg_c_ = 0, over_deep_pit_k_ = 0;
};

}  // namespace farrowtide
