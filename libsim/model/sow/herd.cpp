#include "libsim/model/sow/herd.hpp"

#include <Eigen/Cholesky>
#include <Eigen/Core>
#include <algorithm>
#include <cmath>
#include <numeric>

#include "libsim/kernel/errors.hpp"

namespace farrowtide {
namespace {

Eigen::Matrix4d correlations(const Coefficients& coefficients) {
  const auto effects = coefficients.group("sow.sow_effects");
  Eigen::Matrix4d matrix = Eigen::Matrix4d::Identity();
  matrix(1, 0) = effects.number("correlation_appetite_milk", "-");
  matrix(2, 0) = effects.number("correlation_appetite_duration", "-");
  matrix(3, 0) = effects.number("correlation_appetite_health", "-");
  matrix(2, 1) = effects.number("correlation_milk_duration", "-");
  matrix(3, 1) = effects.number("correlation_milk_health", "-");
  matrix(3, 2) = effects.number("correlation_duration_health", "-");
  return matrix.selfadjointView<Eigen::Lower>();
}

std::vector<double> cumulative(const std::vector<double>& shares) {
  const double total = std::accumulate(shares.begin(), shares.end(), 0.0);
  if (shares.empty() || !(total > 0) || *std::min_element(shares.begin(), shares.end()) < 0)
    throw UserError("parity shares must be 0 or more and not all 0");
  std::vector<double> up_to(shares.size());
  std::partial_sum(shares.begin(), shares.end(), up_to.begin());
  for (double& value : up_to) value /= total;
  return up_to;
}

}  // namespace

SowEffectDraw::SowEffectDraw(const Coefficients& coefficients) {
  const Eigen::LLT<Eigen::Matrix4d> cholesky(correlations(coefficients));
  if (cholesky.info() != Eigen::Success)
    throw UserError(
        "the correlations under sow.sow_effects can't hold together (their matrix is not positive definite); "
        "bring them closer to 0");
  const auto effects = coefficients.group("sow.sow_effects");
  const std::array<double, 4> sd{effects.number("appetite_sd", "log"), effects.number("milk_sd", "log"),
                                 effects.number("farrowing_duration_sd", "log"), effects.number("health_sd", "logit")};
  const Eigen::Matrix4d lower = cholesky.matrixL();
  for (int row = 0; row < 4; ++row)
    for (int column = 0; column <= row; ++column) factor_[row][column] = sd[row] * lower(row, column);
}

SowEffects SowEffectDraw::operator()(const std::array<double, 4>& z) const {
  const auto effect = [&](int row) {
    return std::inner_product(z.begin(), z.begin() + row + 1, factor_[row].begin(), 0.0);
  };
  return {
      .appetite_log = effect(0), .milk_log = effect(1), .farrowing_duration_log = effect(2), .health_logit = effect(3)};
}

HerdDistributions::HerdDistributions(const Coefficients& coefficients)
    : parity_up_to_(cumulative(coefficients.table("sow.herd.parity_share", "-"))),
      weight_kg_(coefficients, "sow.herd.weight_after_farrowing", "kg"),
      weight_cv_(coefficients.number("sow.herd.weight_after_farrowing_cv", "-")),
      weight_per_piglet_kg_(coefficients.number("sow.herd.weight_per_piglet_carried", "kg/piglet")),
      backfat_mean_(coefficients.number("sow.herd.backfat_p2_mean", "mm")),
      backfat_sd_(coefficients.number("sow.herd.backfat_p2_sd", "mm")),
      backfat_least_(coefficients.number("sow.herd.backfat_p2_least", "mm")),
      backfat_most_(coefficients.number("sow.herd.backfat_p2_most", "mm")),
      total_born_mean_(coefficients.number("sow.herd.total_born_herd_mean", "piglets")),
      total_born_sd_(coefficients.number("sow.herd.total_born_sd", "piglets")),
      total_born_least_(coefficients.number("sow.herd.total_born_least", "piglets")),
      total_born_most_(coefficients.number("sow.herd.total_born_most", "piglets")),
      total_born_multiplier_(coefficients, "sow.herd.total_born_parity_multiplier", "-"),
      teats_mean_(coefficients.number("sow.herd.functional_teats_mean", "teats")),
      teats_sd_(coefficients.number("sow.herd.functional_teats_sd", "teats")),
      teats_loss_(coefficients.number("sow.herd.functional_teats_loss_per_parity", "teats/parity")),
      teats_loss_from_parity_(coefficients.number("sow.herd.functional_teats_loss_from_parity", "-")),
      teats_least_(coefficients.number("sow.herd.functional_teats_least", "teats")),
      teats_most_(coefficients.number("sow.herd.functional_teats_most", "teats")) {}

HerdDistributions HerdDistributions::with_parity_shares(const std::vector<double>& shares) const {
  HerdDistributions other = *this;
  other.parity_up_to_ = cumulative(shares);
  return other;
}

HerdDistributions HerdDistributions::of(const HerdDescription& herd) const {
  HerdDistributions own = with_parity_shares(herd.parity_shares);
  own.total_born_mean_ = herd.total_born_mean;
  own.total_born_sd_ = herd.total_born_sd;
  own.weight_level_ = herd.weight_level;
  own.weight_cv_ = herd.weight_cv;
  own.backfat_mean_ = herd.backfat_mean_mm;
  own.backfat_sd_ = herd.backfat_sd_mm;
  return own;
}

int HerdDistributions::parity(double uniform) const {
  const auto found = std::upper_bound(parity_up_to_.begin(), parity_up_to_.end() - 1, uniform);
  return static_cast<int>(found - parity_up_to_.begin()) + 1;
}

double HerdDistributions::weight_after_farrowing_kg(int parity, double z) const {
  return weight_level_ * weight_kg_[parity] * (1 + weight_cv_ * z);
}

double HerdDistributions::backfat_p2_mm(double z) const {
  return std::clamp(backfat_mean_ + backfat_sd_ * z, backfat_least_, backfat_most_);
}

int HerdDistributions::total_born(int parity, double z) const {
  const double born = total_born_mean_ * total_born_multiplier_[parity] + total_born_sd_ * z;
  return static_cast<int>(std::lround(std::clamp(born, total_born_least_, total_born_most_)));
}

int HerdDistributions::functional_teats(int parity, double z) const {
  const double aged = std::max(0.0, parity - teats_loss_from_parity_ + 1);
  const double teats = teats_mean_ + teats_sd_ * z - teats_loss_ * aged;
  return static_cast<int>(std::lround(std::clamp(teats, teats_least_, teats_most_)));
}

ConstipationScore::ConstipationScore(const Coefficients& coefficients)
    : mean_(coefficients.number("sow.constipation.score_mean", "score")),
      sd_(coefficients.number("sow.constipation.score_sd", "score")),
      least_(coefficients.number("sow.constipation.score_least", "score")),
      most_(coefficients.number("sow.constipation.score_most", "score")),
      fibre_effect_(coefficients.number("sow.constipation.fibre_effect", "score")),
      constipated_from_(coefficients.number("sow.constipation.constipated_from_score", "score")) {}

double ConstipationScore::operator()(double z, FibreInDiet fibre) const {
  const double shift = fibre == FibreInDiet::added ? fibre_effect_ : 0;
  return std::clamp(mean_ + sd_ * z + shift, least_, most_);
}

}  // namespace farrowtide
