#pragma once

#include "libsim/scenario/coefficients.hpp"

namespace farrowtide {

/// What a sow's risk of a post-partum disorder depends on, known at her last birth.
struct DisorderInputs {
  double farrowing_duration_min = 240;
  bool assisted = false;
  int stillborn = 0;
  bool placenta_late = false;  ///< late or retained
  double late_gestation_feed_kg_per_day = 2.2;
  double backfat_mm = 18;  ///< P2
  double room_deg_c = 20;
  bool constipated = false;
  double days_in_room = 7;  ///< from the move to the first birth
  double sow_logit = 0;     ///< her own lasting effect
  double herd_logit = 0;    ///< the herd's level against the usual herd
};

/// Risk of a post-partum disorder (dysgalactia syndrome) within 72 h of farrowing.
///
/// Published herds have 0.5 to 60 %, most 13 to 23; the default room, with long farrowings and a late move, about 18.
/// Equation:
///   logit [logit] = intercept + u + herd + duration_per_hour * (FD / 60 - duration_centre) + per_stillborn * SB
///     + risk.backfat * max(0, P2 - backfat_from) + (risk.assisted if assisted) + (risk.placenta if late)
///     + (high_late_gestation_feed if feed >= high_late_gestation_feed_from) + (hot_room if T > hot_room_above)
///     + (risk.constipated if constipated) + (moved_late if days <= moved_late_within)
///   p [-] = 1 / (1 + exp(-logit))
/// Where: u [logit] the sow's own effect; herd [logit] level of the herd; FD [min] duration of the farrowing; SB
///   [piglets] stillborn; P2 [mm] backfat; feed [kg/d] in late gestation; T [degC] room; days [d] in the room before
///   the first birth; assisted [-] a birth was helped; late [-] placenta late or retained; constipated [-] of
///   ConstipationScore
/// Valid: known at the last birth
/// Source: signs Tummaruk & Sang-Gassanee 2013, Papadopoulos et al. 2010, Göransson 1989, Nam 2023; slopes shrunk,
///   assumed
class DisorderRisk {
 public:
  explicit DisorderRisk(const Coefficients& coefficients);
  double logit(const DisorderInputs& sow) const;
  double probability(const DisorderInputs& sow) const;

 private:
  double intercept_, per_hour_, centre_h_, assisted_, per_stillborn_, placenta_;
  double feed_, feed_from_kg_, per_mm_, backfat_from_mm_, hot_, hot_above_deg_c_, constipated_, moved_, moved_within_d_;
};

/// Whether she is treated, and how soon. Whether and how to treat is the herd veterinarian's decision.
enum class Treatment { none, early, late };

/// When the disorder sets in and how it ends; no trial of early against late treatment.
/// Equation:
///   onset [h] = onset_median * exp(onset_sd * z)
///   recovery [1/d] = recovery_treated if 'treated before' late_after 'from onset', recovery_treated_late if 'later',
///     else recovery_untreated
/// Where: z [-] standard normal draw of the sow; onset is counted from the last birth; recovery is a hazard
/// Valid: onsets of 10-50 h for most
/// Source: recovery Tummaruk & Sang-Gassanee 2013; the rest assumed
class DisorderCourse {
 public:
  explicit DisorderCourse(const Coefficients& coefficients);
  /// From the last birth [h]; z is standard normal.
  double onset_h(double z) const;
  /// Hazard of recovery [1/d].
  double recovery_per_day(Treatment treatment) const;
  /// Treatment that begins this long after onset or later [h] is late.
  double late_after_h() const { return late_after_h_; }

 private:
  double onset_median_h_, onset_sd_, untreated_per_day_, treated_per_day_, treated_late_per_day_, late_after_h_;
};

/// What an ill sow still eats, drinks and gives. Survival holds what it does to her piglets.
/// Equation:
///   appetite [-] = max(0, 1 - (1 - while_ill.appetite_multiplier) * severity)
///   water [-] = while_ill.water_multiplier
///   milk [-] = while_ill.milk_multiplier
/// Where: severity [-] of IllnessSeverity
/// Valid: onset to recovery; a severity of 2 and more eats nothing at the standard
/// Source: assumption
class WhileIll {
 public:
  explicit WhileIll(const Coefficients& coefficients);
  /// Falls with severity, 1 on average: some eat nothing.
  double appetite_multiplier(double severity) const;
  double water_multiplier() const { return water_multiplier_; }
  double milk_multiplier() const { return milk_multiplier_; }

 private:
  double appetite_multiplier_, water_multiplier_, milk_multiplier_;
};

/// How ill she is, 1 on average; enters her appetite and her rectal temperature.
/// Equation:
///   severity [-] = max(severity_least, severity_mean + severity_sd * z)
/// Where: z [-] standard normal draw of the sow
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
