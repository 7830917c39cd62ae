#include "libsim/model/sow/post_partum_disorder.hpp"

#include <algorithm>
#include <cmath>

#include "libsim/kernel/errors.hpp"

namespace farrowtide {

DisorderRisk::DisorderRisk(const Coefficients& coefficients)
    : intercept_(coefficients.number("sow.post_partum_disorder.risk.intercept", "logit")),
      per_hour_(coefficients.number("sow.post_partum_disorder.risk.duration_per_hour", "logit/h")),
      centre_h_(coefficients.number("sow.post_partum_disorder.risk.duration_centre", "h")),
      assisted_(coefficients.number("sow.post_partum_disorder.risk.assisted", "logit")),
      per_stillborn_(coefficients.number("sow.post_partum_disorder.risk.per_stillborn", "logit/piglet")),
      placenta_(coefficients.number("sow.post_partum_disorder.risk.placenta", "logit")),
      feed_harm_(coefficients),
      feed_(coefficients.number("sow.post_partum_disorder.risk.high_pre_farrow_feed", "logit")),
      feed_above_kg_(coefficients.number("sow.post_partum_disorder.risk.high_pre_farrow_feed_above", "kg/d")),
      feed_from_kg_(coefficients.number("sow.post_partum_disorder.risk.high_pre_farrow_feed_from", "kg/d")),
      per_mm_(coefficients.number("sow.post_partum_disorder.risk.backfat", "logit/mm")),
      backfat_from_mm_(coefficients.number("sow.post_partum_disorder.risk.backfat_from", "mm")),
      hot_(coefficients.number("sow.post_partum_disorder.risk.hot_room", "logit")),
      hot_above_deg_c_(coefficients.number("sow.post_partum_disorder.risk.hot_room_above", "degC")),
      constipated_(coefficients.number("sow.post_partum_disorder.risk.constipated", "logit")),
      moved_(coefficients.number("sow.post_partum_disorder.risk.moved_late", "logit")),
      moved_within_d_(coefficients.number("sow.post_partum_disorder.risk.moved_late_within", "d")) {}

double DisorderRisk::logit(const DisorderInputs& sow) const {
  double logit = intercept_ + sow.sow_logit + sow.herd_logit;
  logit += per_hour_ * (sow.farrowing_duration_min / 60 - centre_h_) + per_stillborn_ * sow.stillborn;
  logit += per_mm_ * std::max(0.0, sow.backfat_mm - backfat_from_mm_);
  if (sow.assisted) logit += assisted_;
  if (sow.placenta_late) logit += placenta_;
  const double much = (sow.pre_farrow_feed_kg_per_day - feed_above_kg_) / (feed_from_kg_ - feed_above_kg_);
  logit += feed_ * std::clamp(much, 0.0, 1.0) * feed_harm_(sow.backfat_mm);
  if (sow.room_deg_c > hot_above_deg_c_) logit += hot_;
  if (sow.constipated) logit += constipated_;
  if (sow.days_in_room <= moved_within_d_) logit += moved_;
  return logit;
}

double DisorderRisk::probability(const DisorderInputs& sow) const { return 1 / (1 + std::exp(-logit(sow))); }

DisorderCourse::DisorderCourse(const Coefficients& coefficients)
    : onset_median_h_(coefficients.number("sow.post_partum_disorder.course.onset_median", "h")),
      onset_sd_(coefficients.number("sow.post_partum_disorder.course.onset_sd", "log")),
      untreated_per_day_(coefficients.number("sow.post_partum_disorder.course.recovery_untreated", "1/d")),
      treated_per_day_(coefficients.number("sow.post_partum_disorder.course.recovery_treated", "1/d")),
      treated_late_per_day_(coefficients.number("sow.post_partum_disorder.course.recovery_treated_late", "1/d")),
      late_after_h_(coefficients.number("sow.post_partum_disorder.course.late_after", "h")) {}

double DisorderCourse::onset_h(double z) const { return onset_median_h_ * std::exp(onset_sd_ * z); }

double DisorderCourse::recovery_per_day(Treatment treatment) const {
  switch (treatment) {
    case Treatment::none:
      return untreated_per_day_;
    case Treatment::early:
      return treated_per_day_;
    case Treatment::late:
      return treated_late_per_day_;
  }
  throw InternalError("there is no such treatment");
}

WhileIll::WhileIll(const Coefficients& coefficients)
    : appetite_multiplier_(coefficients.number("sow.post_partum_disorder.while_ill.appetite_multiplier", "-")),
      water_multiplier_(coefficients.number("sow.post_partum_disorder.while_ill.water_multiplier", "-")),
      milk_multiplier_(coefficients.number("sow.post_partum_disorder.while_ill.milk_multiplier", "-")) {}

double WhileIll::appetite_multiplier(double severity) const {
  return std::max(0.0, 1 - (1 - appetite_multiplier_) * severity);
}

IllnessSeverity::IllnessSeverity(const Coefficients& coefficients)
    : mean_(coefficients.number("sow.rectal_temperature.severity_mean", "-")),
      sd_(coefficients.number("sow.rectal_temperature.severity_sd", "-")),
      least_(coefficients.number("sow.rectal_temperature.severity_least", "-")) {}

double IllnessSeverity::operator()(double z) const { return std::max(least_, mean_ + sd_ * z); }

}  // namespace farrowtide
