#pragma once

#include <array>
#include <vector>

#include "libsim/model/sow/parity_table.hpp"
#include "libsim/scenario/coefficients.hpp"

namespace farrowtide {

/// A sow's own lasting deviations, all with mean 0.
struct SowEffects {
  double appetite_log = 0;
  double milk_log = 0;
  double farrowing_duration_log = 0;
  double health_logit = 0;
};

/// Draws the correlated effects of a sow from four standard-normal z.
class SowEffectDraw {
 public:
  /// A UserError if the correlations do not make a positive-definite matrix.
  explicit SowEffectDraw(const Coefficients& coefficients);
  SowEffects operator()(const std::array<double, 4>& z) const;

 private:
  std::array<std::array<double, 4>, 4> factor_{};  ///< lower triangle, standard deviations included
};

/// Who stands in the crates: parity, size and litter of a sow, each from its own uniform or standard-normal z.
class HerdDistributions {
 public:
  explicit HerdDistributions(const Coefficients& coefficients);
  /// The farm's own shares for parity 1, 2, ...; they are scaled to sum to 1.
  HerdDistributions with_parity_shares(const std::vector<double>& shares) const;

  int parity(double uniform) const;
  double weight_after_farrowing_kg(int parity, double z) const;
  /// Weight that leaves her with the litter [kg].
  double weight_carried_kg(int total_born) const { return weight_per_piglet_kg_ * total_born; }
  double backfat_p2_mm(double z) const;
  int total_born(int parity, double z) const;
  int functional_teats(int parity, double z) const;

 private:
  std::vector<double> parity_up_to_;  ///< cumulative shares
  ParityTable weight_kg_;
  double weight_cv_, weight_per_piglet_kg_;
  double backfat_mean_, backfat_sd_, backfat_least_, backfat_most_;
  double total_born_mean_, total_born_sd_, total_born_least_, total_born_most_;
  ParityTable total_born_multiplier_;
  double teats_mean_, teats_sd_, teats_loss_, teats_loss_from_parity_, teats_least_, teats_most_;
};

enum class FibreInDiet { usual, added };

/// Constipation score before farrowing, 0-5; high is constipated.
class ConstipationScore {
 public:
  explicit ConstipationScore(const Coefficients& coefficients);
  double operator()(double z, FibreInDiet fibre) const;
  bool is_constipated(double score) const { return score >= constipated_from_; }

 private:
  double mean_, sd_, least_, most_, fibre_effect_, constipated_from_;
};

}  // namespace farrowtide
