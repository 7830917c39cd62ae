#include "libsim/model/sow/sow_loss.hpp"

#include <algorithm>
#include <cmath>
#include <limits>

namespace farrowtide {
namespace {

constexpr double summer_share = 0.25;  // of the year

// A hazard ratio over its mean in a herd in which this share has the risk factor.
double centred(bool has_it, double ratio, double share) { return (has_it ? ratio : 1) / (1 + share * (ratio - 1)); }

}  // namespace

SowLoss::SowLoss(const Coefficients& coefficients)
    : from_d_(coefficients.number("sow.sow_loss.peripartum_from", "d")),
      until_d_(coefficients.number("sow.sow_loss.peripartum_until", "d")),
      lactation_d_(coefficients.number("sow.sow_loss.lactation_length", "d")),
      peripartum_share_(coefficients.number("sow.sow_loss.peripartum_share", "-")),
      cumulative_hazard_(-std::log1p(-coefficients.number("sow.sow_loss.death_in_room", "-"))),
      per_stillborn_(coefficients.number("sow.sow_loss.per_stillborn", "1/piglet")),
      usual_stillborn_(coefficients.number("sow.sow_loss.usual_stillborn", "piglets")),
      summer_(coefficients.number("sow.sow_loss.summer_multiplier", "-")),
      long_farrowing_(coefficients.number("sow.sow_loss.long_farrowing_multiplier", "-")),
      usual_long_share_(coefficients.number("sow.sow_loss.usual_long_share", "-")),
      lame_(coefficients.number("sow.legs.death_hazard_ratio", "-")),
      usual_lame_share_(coefficients.number("sow.legs.prevalence", "-")),
      long_from_min_(coefficients.number("sow.farrowing.help.alarm_duration", "min")),
      prolapse_from_d_(coefficients.number("sow.sow_loss.prolapse_from", "d")),
      prolapse_until_d_(coefficients.number("sow.sow_loss.prolapse_until", "d")),
      prolapse_share_(coefficients.number("sow.sow_loss.prolapse_share_of_deaths", "-")) {}

double SowLoss::per_day(const SowLossInputs& sow) const {
  if (sow.since_farrowing_d < from_d_) return 0;
  const bool peripartum = sow.since_farrowing_d < until_d_;
  const double share_per_day =
      peripartum ? peripartum_share_ / (until_d_ - from_d_) : (1 - peripartum_share_) / (lactation_d_ - until_d_);
  double ratio =
      centred(sow.season == Season::summer, summer_, summer_share) * centred(sow.lame, lame_, usual_lame_share_);
  if (sow.farrowed) {
    ratio *= (1 + per_stillborn_ * sow.stillborn) / (1 + per_stillborn_ * usual_stillborn_);
    ratio *= centred(sow.farrowing_duration_min > long_from_min_, long_farrowing_, usual_long_share_);
  }
  return cumulative_hazard_ * share_per_day * ratio;
}

double SowLoss::next_change_d(double since_farrowing_d) const {
  if (since_farrowing_d < from_d_) return from_d_ - since_farrowing_d;
  if (since_farrowing_d < until_d_) return until_d_ - since_farrowing_d;
  return std::numeric_limits<double>::infinity();
}

double SowLoss::share_of_deaths_before(double since_farrowing_d) const {
  const double around = std::clamp((since_farrowing_d - from_d_) / (until_d_ - from_d_), 0.0, 1.0);
  const double later = std::clamp((since_farrowing_d - until_d_) / (lactation_d_ - until_d_), 0.0, 1.0);
  return peripartum_share_ * around + (1 - peripartum_share_) * later;
}

bool SowLoss::is_prolapse(double since_farrowing_d, double uniform) const {
  if (since_farrowing_d < prolapse_from_d_ || since_farrowing_d >= prolapse_until_d_) return false;
  // All prolapses fall within their window, so their share of deaths is larger there than over the whole stay.
  const double share_in_window = share_of_deaths_before(prolapse_until_d_) - share_of_deaths_before(prolapse_from_d_);
  return uniform * share_in_window < prolapse_share_;
}

}  // namespace farrowtide
