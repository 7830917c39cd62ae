#pragma once

#include <vector>

namespace farrowtide {

class Coefficients;

/// Teat use of one sow, stored with her.
struct TeatUse {
  int functional = 0;
  std::vector<int> suckled_on_day;  ///< teats suckled, by day of lactation from d0
};

/// Teats that still yield milk: at first all functional teats, later only those suckled in the previous days. A teat
/// that has dried off stays dry.
///
/// Piglets keep to teats already in use, so counts are sufficient and individual teats are not tracked.
/// Equation:
///   usable(d) [teats] = functional if d < only_suckled_from_day,
///     else max(suckled(d - dry_off_after), ..., suckled(d - 1))
///   suckled(d) [teats] = max(piglets 'of the day, limited to' usable(d))
/// Where: functional [teats] of the sow; d [d] day of lactation; piglets [piglets] suckling
/// Valid: from day 0 to weaning
/// Source: from memory; Farmer 2015; de Passillé 1988
class UsableTeats {
 public:
  explicit UsableTeats(const Coefficients& coefficients);

  /// Usable teats on this day, from those suckled on the previous days.
  int operator()(const TeatUse& use, int lactation_day) const;

  /// Records the number of piglets suckling today; the maximum of the day counts.
  void nurse(TeatUse& use, int lactation_day, int piglets) const;

 private:
  int dry_off_after_d_, only_suckled_from_day_;
};

}  // namespace farrowtide
