// The care family: what is looked for in which sows, what triggers treatment, stand-up rounds, early weaning. Decisions
// only; what a treatment is, and whether a sow gets it, is the herd veterinarian's decision.
#pragma once

#include <bitset>
#include <memory>
#include <optional>
#include <span>
#include <string>

#include "libsim/kernel/names.hpp"
#include "libsim/kernel/time.hpp"
#include "libsim/policy/catalogue.hpp"

namespace farrowtide {

// Signs of illness in a sow.
enum class Sign { temperature, nursing, not_eaten, udder, legs };
constexpr auto names(Sign) {
  using enum Sign;
  return std::to_array<Name<Sign>>({{temperature, "temperature", "high temperature"},
                                    {nursing, "nursing", "poor nursing"},
                                    {not_eaten, "not_eaten", "not eating or drinking"},
                                    {udder, "udder", "udder trouble"},
                                    {legs, "legs", "leg trouble"}});
}
using SignSet = std::bitset<NameTable<Sign>::size>;  // by Sign

// What staff know of a sow that has farrowed.
struct CareView {
  int parity = 1;
  int lactation_day = 0;
  int piglets = 0;  // that nurse her
  double since_farrowing_h = 0;
  double farrowing_duration_min = 0;
  bool assisted = false;
  int stillborn = 0;
  SignSet seen = {};                             // so far
  double eaten_kg = 0, expected_kg = 0;          // seen this morning, of the day before it: feed eaten, and what such
                                                 // a sow eats in that time of what was in front of her
  double drunk_l = 0, expected_l = 0;            // the same of water, by estimate
  bool off_feed_or_water = false;                // seen this morning to have eaten or drunk far less than expected
  double trough_left_kg = 0;                     // found in her trough this morning
  int days_off_feed = 0;                         // consecutive mornings on which she had eaten next to nothing
  bool seen_lame = false;                        // since loading, rightly or wrongly
  std::optional<Sign> just_found = {};           // what `treat` is asked about; empty: a reading below the alarm
  std::optional<double> rectal_deg_c = {};       // last reading
  std::optional<double> since_treatment_h = {};  // since the last one was requested
};

class CarePolicy {
 public:
  virtual ~CarePolicy() = default;

  // When her rectal temperature is taken, from the last birth; asked when she has farrowed. Empty: not taken.
  virtual std::optional<Duration> temperature_after(const CareView& view) const = 0;

  // Rectal temperature from which a reading is a sign of illness. Empty: that of the coefficient library.
  virtual std::optional<double> alarm_deg_c() const { return std::nullopt; }

  // The signs looked for this morning; the temperature is taken at its own time.
  virtual SignSet look_for(const CareView& view) const = 0;

  // Asked whenever a sign is seen, rightly or wrongly, and at every reading of the temperature.
  virtual bool treat(const CareView& view) const = 0;

  // Clock times of the rounds on which sows are made to stand up, and whether she is one of them; also asked of sows
  // that have not farrowed, whose lactation day is negative.
  virtual std::span<const Duration> stand_up_rounds() const = 0;
  virtual bool stands_up(const CareView&) const { return true; }

  // Whether a sow that is seen lame as she walks to her crate is treated.
  virtual bool treats_lame_at_loading() const { return false; }

  // Asked each morning: whether her litter is weaned today. Local law sets the minimum age.
  virtual bool wean_today(const CareView& view) const = 0;

  // Whether any sign is looked for, and whether a sow can be treated; a policy without either is for comparison only.
  virtual bool checks() const { return true; }
  virtual bool treats() const { return true; }

  // One sentence for reports and `explain`.
  virtual std::string describe() const = 0;
};

std::span<const CatalogueEntry<CarePolicy>> care_catalogue();

}  // namespace farrowtide
