#include "libsim/model/litter/teats.hpp"

#include <algorithm>
#include <cstddef>

#include "libsim/scenario/coefficients.hpp"

namespace farrowtide {

UsableTeats::UsableTeats(const Coefficients& coefficients)
    : dry_off_after_d_{static_cast<int>(coefficients.number("litter.teats.dry_off_after", "d"))},
      only_suckled_from_day_{static_cast<int>(coefficients.number("litter.teats.only_suckled_from_day", "d"))} {}

int UsableTeats::operator()(const TeatUse& use, int lactation_day) const {
  if (lactation_day < only_suckled_from_day_) return use.functional;
  int most = 0;
  const int noted_days = static_cast<int>(use.suckled_on_day.size());
  for (int day = std::max(0, lactation_day - dry_off_after_d_); day < std::min(lactation_day, noted_days); ++day)
    most = std::max(most, use.suckled_on_day[static_cast<std::size_t>(day)]);
  return most;
}

void UsableTeats::nurse(TeatUse& use, int lactation_day, int piglets) const {
  const auto day = static_cast<std::size_t>(std::max(0, lactation_day));
  if (use.suckled_on_day.size() <= day) use.suckled_on_day.resize(day + 1, 0);
  int& suckled = use.suckled_on_day[day];
  suckled = std::max(suckled, std::min(piglets, (*this)(use, lactation_day)));
}

}  // namespace farrowtide
