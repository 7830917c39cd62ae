#pragma once

#include <cstdint>
#include <functional>

namespace farrowtide::ward {

/// A reduced ward; ward.py holds the values, what they mean, and the same ward in SimPy.
struct Settings {
  int sows;
  double onset_mean_h;
  double onset_sd_h;
  double piglets_mean;
  double birth_gap_mean_min;
  int attendants;
  double round_every_min;
  double on_duty_from_h;
  double on_duty_until_h;
  double help_after_min;
  double help_mean_min;
};

/// What the policy knows of a farrowing sow at a round.
struct View {
  double since_last_birth_min;
  int born;
};

/// Whether the sow is helped: the one decision in this ward.
using Policy = std::function<bool(const View&)>;

/// What is compared; the wait for help is zero where nobody was helped.
struct Outcome {
  double farrowing_mean_min;
  int helps;
  double busy_min;
  double help_wait_mean_min;
};

/// Helps a sow whose last birth is at least so long ago.
Policy help_after(double limit_min);

/// One ward from the first onset to the last birth. The same seed and replicate give the same ward.
Outcome simulate(const Settings& settings, const Policy& policy, std::uint64_t seed, std::uint32_t replicate);

}  // namespace farrowtide::ward
