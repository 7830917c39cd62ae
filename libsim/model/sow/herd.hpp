#pragma once

#include <array>
#include <vector>

#include "libsim/kernel/names.hpp"
#include "libsim/model/curves/parity_table.hpp"
#include "libsim/scenario/coefficients.hpp"

namespace farrowtide {

/// Permanent effects of a sow, each with mean 0.
struct SowEffects {
  double appetite_log = 0;
  double milk_log = 0;
  double farrowing_duration_log = 0;
  double health_logit = 0;
};

/// The four permanent effects of a sow, correlated.
/// Equation:
///   effect[i] [log, log, log, logit] = sd[i] * sum(L[i, j] * z[j])
///   sd [log, log, log, logit] = (appetite_sd, milk_sd, farrowing_duration_sd, health_sd)
///   L * transposed(L) = R
///   R [-] = 'ones on the diagonal and, off the diagonal,' correlation_appetite_milk, correlation_appetite_duration,
///     correlation_appetite_health, correlation_milk_duration, correlation_milk_health, correlation_duration_health
/// Where: z [-] four standard normal draws per sow; L [-] lower triangular Cholesky factor; i, j [-] appetite, milk,
///   farrowing duration, health
/// Valid: correlations that form a positive definite matrix
/// Source: standard deviations Bergsma & Hermesch 2012, Strathe et al. 2017, Gourley et al. 2020; health and
///   correlations assumed
class SowEffectDraw {
 public:
  /// Throws UserError if the correlations do not form a positive definite matrix.
  explicit SowEffectDraw(const Coefficients& coefficients);
  SowEffects operator()(const std::array<double, 4>& z) const;

 private:
  std::array<std::array<double, 4>, 4> factor_{};  ///< lower triangle, scaled by the standard deviations
};

/// What a farm may say of its herd instead of the library's values.
struct HerdDescription {
  std::vector<double> parity_shares;  ///< of parity 1, 2, ...; scaled to sum to 1
  double total_born_mean, total_born_sd;
  double weight_level, weight_cv;  ///< the level multiplies the table of weights by parity
  double backfat_mean_mm, backfat_sd_mm;
};

/// Sows at loading: parity, body size and litter size, each from its own uniform draw or standard normal z.
/// Equation:
///   parity [-] = 'the first at which the cumulative' parity_share 'exceeds' uniform
///   weight [kg] = weight_level * weight_after_farrowing[parity] * (1 + weight_after_farrowing_cv * z)
///   weight_carried [kg] = weight_per_piglet_carried * total_born
///   backfat [mm] = clip(backfat_p2_mean + backfat_p2_sd * z, backfat_p2_least, backfat_p2_most)
///   born [piglets] = total_born_herd_mean * total_born_parity_multiplier[parity] + total_born_sd * z
///   total_born [piglets] = round(clip(born, total_born_least, total_born_most))
///   aged [parities] = max(0, parity - functional_teats_loss_from_parity + 1)
///   teats [teats] = functional_teats_mean + functional_teats_sd * z - functional_teats_loss_per_parity * aged
///   functional_teats [teats] = round(clip(teats, functional_teats_least, functional_teats_most))
/// Where: uniform [-] uniform draw between 0 and 1; z [-] standard normal draw, one per trait; weight_level [-] of the
///   farm; the means and standard deviations are the farm's own where it states them
/// Valid: parity 1 and later
/// Source: Koketsu 2018; NRC 2012; Gourley et al. 2020; Wiegert & Knauer 2018; backfat common practice
class HerdDistributions {
 public:
  explicit HerdDistributions(const Coefficients& coefficients);
  /// Copy with the farm's own shares of parity 1, 2, ..., scaled to sum to 1.
  HerdDistributions with_parity_shares(const std::vector<double>& shares) const;
  /// Copy with all of the farm's own values.
  HerdDistributions of(const HerdDescription& herd) const;

  int parity(double uniform) const;
  double weight_after_farrowing_kg(int parity, double z) const;
  /// Weight lost at farrowing with the litter [kg].
  double weight_carried_kg(int total_born) const { return weight_per_piglet_kg_ * total_born; }
  double backfat_p2_mm(double z) const;
  int total_born(int parity, double z) const;
  int functional_teats(int parity, double z) const;

 private:
  std::vector<double> parity_up_to_;  ///< cumulative shares
  ParityTable weight_kg_;
  double weight_level_ = 1;
  double weight_cv_, weight_per_piglet_kg_;
  double backfat_mean_, backfat_sd_, backfat_least_, backfat_most_;
  double total_born_mean_, total_born_sd_, total_born_least_, total_born_most_;
  ParityTable total_born_multiplier_;
  double teats_mean_, teats_sd_, teats_loss_, teats_loss_from_parity_, teats_least_, teats_most_;
};

enum class FibreInDiet { usual, added };
constexpr auto names(FibreInDiet) {
  return std::to_array<Name<FibreInDiet>>({{FibreInDiet::usual, "usual"}, {FibreInDiet::added, "added"}});
}

/// Constipation score before farrowing, 0-5; a high score means constipated.
/// Equation:
///   score [score] = clip(score_mean + score_sd * z + fibre, score_least, score_most)
///   fibre [score] = fibre_effect if 'fibre is added to the diet', else 0
///   constipated if score >= constipated_from_score
/// Where: z [-] standard normal draw per sow; constipated [-] risk factor for a post-partum disorder
/// Valid: scores 0-5
/// Source: assumption
class ConstipationScore {
 public:
  explicit ConstipationScore(const Coefficients& coefficients);
  double operator()(double z, FibreInDiet fibre) const;
  bool is_constipated(double score) const { return score >= constipated_from_; }

 private:
  double mean_, sd_, least_, most_, fibre_effect_, constipated_from_;
};

}  // namespace farrowtide
