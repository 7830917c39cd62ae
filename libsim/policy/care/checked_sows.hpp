// Shared by all care policies: which signs are looked for in which sows and until when, stand-up rounds, early weaning.
#pragma once

#include <string>
#include <vector>

#include "libsim/policy/care/care.hpp"

namespace farrowtide {

// Sows at risk had a long farrowing, help, or several stillborn piglets.
class RiskSigns {
 public:
  RiskSigns() = default;
  explicit RiskSigns(const Coefficients& coefficients);
  bool at_risk(const CareView& view) const;

 private:
  double long_farrowing_min_ = 0;
  int stillborn_ = 0;
};

// Weaning before the group, of sows that stay off feed or are lame.
struct EarlyWeaning {
  bool on = false;
  int from_day = 0;       // of lactation
  int off_feed_days = 0;  // consecutive mornings
  bool lame = false;      // also of sows seen lame

  static EarlyWeaning read(Section& section);
};

enum class TemperatureCheck { always, if_chosen };

class CheckedSows : public CarePolicy {
 public:
  std::optional<Duration> temperature_after(const CareView& view) const override;
  std::optional<double> alarm_deg_c() const override { return alarm_deg_c_; }
  SignSet look_for(const CareView& view) const override;
  std::span<const Duration> stand_up_rounds() const override { return stand_up_; }
  bool stands_up(const CareView& view) const override;
  bool treats_lame_at_loading() const override { return legs_at_loading_; }
  bool wean_today(const CareView& view) const override;
  bool checks() const override { return signs_.any(); }

 protected:
  void read_checks(Section& section, TemperatureCheck temperature);
  std::string describe_checks() const;

 private:
  enum class Whom { everyone, at_risk };
  friend constexpr auto names(Whom) {
    return std::to_array<Name<Whom>>({{Whom::everyone, "everyone"}, {Whom::at_risk, "at_risk"}});
  }
  enum class MadeToStand { everyone, first_parity, flagged };
  friend constexpr auto names(MadeToStand) {
    using enum MadeToStand;
    return std::to_array<Name<MadeToStand>>(
        {{everyone, "everyone"}, {first_parity, "first_parity"}, {flagged, "flagged"}});
  }
  bool is_checked(const CareView& view) const { return whom_ == Whom::everyone || risk_.at_risk(view); }

  SignSet signs_;
  Duration temperature_after_;
  double alarm_deg_c_ = 0;
  int until_day_ = 0;  // of lactation
  Whom whom_ = Whom::everyone;
  RiskSigns risk_;
  std::vector<Duration> stand_up_;
  MadeToStand stand_up_whom_ = MadeToStand::everyone;
  bool legs_at_loading_ = false;
  EarlyWeaning weaning_;
};

// Whether a treatment now would be the second within a day.
bool treated_within_a_day(const CareView& view);

}  // namespace farrowtide
