// Daily totals of a sow, and summaries over her lactation.
#pragma once

#include <span>

namespace farrowtide {

// Totals of one day, recorded at the midnight that ends it.
struct SowDay {
  int calendar_day = 0;  // the lactation day is known only after farrowing
  bool farrowed = false, ill = false;
  int meals = 0, piglets = 0;
  double appetite_kg = 0, offered_kg = 0, undelivered_kg = 0, eaten_kg = 0, wasted_kg = 0, removed_kg = 0,
         in_trough_at_midnight_kg = 0;
  double water_l = 0;
  double effective_temperature_deg_c = 0, room_temperature_deg_c = 0;
  double weight_kg = 0, weighed_kg = 0, backfat_mm = 0, weight_change_kg = 0;
  double energy_eaten_mcal = 0, maintenance_mcal = 0, milk_mcal = 0, milk_potential_mcal = 0,
         body_energy_change_mcal = 0;
  double litter_gain_kg = 0;
};

// The full days of a lactation, from day 1. Means over no days are missing.
class LactationDays {
 public:
  // All days of a sow's stay in order, and the calendar day of her last birth.
  LactationDays(std::span<const SowDay> stay, int day_0);

  LactationDays until(int last_lactation_day) const;
  double mean(double SowDay::*field) const;
  double meals_per_day() const;
  int count_below(double eaten_kg) const;
  int count_without_feed() const;

 private:
  std::span<const SowDay> days_;
  int day_0_;
};

}  // namespace farrowtide
