#pragma once

#include <vector>

namespace farrowtide {

class Coefficients;

/// Teats of one sow that were in use; carried by her.
struct TeatUse {
  int functional = 0;
  std::vector<int> suckled_on_day;  ///< teats suckled, by day of lactation from d0
};

/// Teats that still give milk: all functional ones at first, later only those suckled in the last days. A teat that has
/// dried off stays dry.
///
/// Piglets keep to teats already in use, so numbers are enough and no teat needs a name.
/// Equation:
///   usable(d) [teats] = functional if d < only_suckled_from_day,
///     else max(suckled(d - dry_off_after), ..., suckled(d - 1))
///   suckled(d) [teats] = max(piglets 'of the day, none more than' usable(d))
/// Where: functional [teats] of the sow; d [d] day of lactation; piglets [piglets] that nurse
/// Valid: day 0 to weaning
/// Source: from memory; Farmer 2015; de Passillé 1988
class UsableTeats {
 public:
  explicit UsableTeats(const Coefficients& coefficients);

  /// Usable on this day, from what was suckled on the days before.
  int operator()(const TeatUse& use, int lactation_day) const;

  /// Notes that this many piglets nurse her today; the most of a day counts.
  void nurse(TeatUse& use, int lactation_day, int piglets) const;

 private:
  int dry_off_after_d_, only_suckled_from_day_;
};

}  // namespace farrowtide
