#pragma once

#include "libsim/model/sow/feed_harm.hpp"
#include "libsim/scenario/coefficients.hpp"

namespace farrowtide {

/// Risk factors for a post-partum disorder, known when the last piglet is born.
struct DisorderInputs {
  double farrowing_duration_min = 240;
  bool assisted = false;
  int stillborn = 0;
  bool placenta_late = false;               ///< delayed or retained
  double pre_farrow_feed_kg_per_day = 2.2;  ///< eaten in the last days before farrowing
  double backfat_mm = 18;                   ///< P2
  double room_deg_c = 20;
  bool constipated = false;
  double days_in_room = 7;  ///< from loading to the first birth
  double sow_logit = 0;     ///< her permanent effect
  double herd_logit = 0;    ///< level of the herd relative to the default herd
};

/// Risk of a post-partum disorder (post-partum dysgalactia syndrome) within 72 h of farrowing.
///
/// Published incidence is 0.5 to 60 %, mostly 13 to 23 %; in the default room, with long farrowings and late loading,
/// about 18 %.
/// Equation:
///   logit [logit] = intercept + u + herd + duration_per_hour * (FD / 60 - duration_centre) + per_stillborn * SB
///     + risk.backfat * max(0, P2 - backfat_from) + (risk.assisted if assisted) + (risk.placenta if late)
///     + high_pre_farrow_feed * much * fat + (hot_room if T > hot_room_above)
///     + (risk.constipated if constipated) + (moved_late if days <= moved_late_within)
///   much [-] = clip((feed - high_pre_farrow_feed_above) / (high_pre_farrow_feed_from
///     - high_pre_farrow_feed_above), 0, 1)
///   p [-] = 1 / (1 + exp(-logit))
/// Where: fat [-] of FeedHarm; u [logit] permanent effect of the sow; herd [logit] level of the herd; FD [min]
/// farrowing
///   duration; SB [piglets] stillborn; P2 [mm] backfat; feed [kg/d] eaten in the last days before farrowing; T [degC]
///   room temperature; days [d] in the room before the first birth; assisted [-] farrowing was assisted; late [-]
///   placenta delayed or retained; constipated [-] of ConstipationScore
/// Valid: known when the last piglet is born
/// Source: directions of effects Tummaruk & Sang-Gassanee 2013, Papadopoulos et al. 2010, Göransson 1989, Nam 2023;
///   slopes shrunk, assumed
class DisorderRisk {
 public:
  explicit DisorderRisk(const Coefficients& coefficients);
  double logit(const DisorderInputs& sow) const;
  double probability(const DisorderInputs& sow) const;

 private:
  double intercept_, per_hour_, centre_h_, assisted_, per_stillborn_, placenta_;
  FeedHarm feed_harm_;
  double feed_, feed_above_kg_, feed_from_kg_, per_mm_, backfat_from_mm_, hot_, hot_above_deg_c_, constipated_, moved_,
      moved_within_d_;
};

/// Whether and how early she is treated. Whether and how to treat is the herd veterinarian's decision.
enum class Treatment { none, early, late };

/// Onset of and recovery from the disorder; no trial compared early with late treatment.
/// Equation:
///   onset [h] = onset_median * exp(onset_sd * z)
///   recovery [1/d] = recovery_treated if 'treated before' late_after 'from onset', recovery_treated_late if 'later',
///     else recovery_untreated
/// Where: z [-] standard normal draw per sow; onset is counted from the last birth; recovery is a hazard
/// Valid: most onsets at 10-50 h
/// Source: recovery Tummaruk & Sang-Gassanee 2013; the rest assumed
class DisorderCourse {
 public:
  explicit DisorderCourse(const Coefficients& coefficients);
  /// Time from the last birth [h]; z is standard normal.
  double onset_h(double z) const;
  /// Hazard of recovery [1/d].
  double recovery_per_day(Treatment treatment) const;
  /// Treatment that begins at least this long after onset [h] is late.
  double late_after_h() const { return late_after_h_; }

 private:
  double onset_median_h_, onset_sd_, untreated_per_day_, treated_per_day_, treated_late_per_day_, late_after_h_;
};

/// Appetite, water intake and milk yield of an ill sow. The effect on her piglets is in Survival.
/// Equation:
///   appetite [-] = max(0, 1 - (1 - while_ill.appetite_multiplier) * severity)
///   water [-] = while_ill.water_multiplier
///   milk [-] = while_ill.milk_multiplier
/// Where: severity [-] of IllnessSeverity
/// Valid: from onset to recovery; at a severity of 2 or more a sow eats nothing with the default coefficients
/// Source: assumption
class WhileIll {
 public:
  explicit WhileIll(const Coefficients& coefficients);
  /// Decreases with severity, which is 1 on average: some sows eat nothing.
  double appetite_multiplier(double severity) const;
  double water_multiplier() const { return water_multiplier_; }
  double milk_multiplier() const { return milk_multiplier_; }

 private:
  double appetite_multiplier_, water_multiplier_, milk_multiplier_;
};

/// Severity of illness, 1 on average; affects appetite and rectal temperature.
/// Equation:
///   severity [-] = max(severity_least, severity_mean + severity_sd * z)
/// Where: z [-] standard normal draw per sow
/// Valid: sows with a disorder
/// Source: assumption
class IllnessSeverity {
 public:
  explicit IllnessSeverity(const Coefficients& coefficients);
  double operator()(double z) const;

 private:
  double mean_, sd_, least_;
};

}  // namespace farrowtide
