#include "libsim/record/ledger.hpp"

#include <cmath>
#include <string>

#include "libsim/kernel/errors.hpp"

namespace farrowtide {
namespace {

constexpr double rounding = 1e-9;  // relative, of sums of a few hundred doubles

[[noreturn]] void breach(const std::string& what, int sow, double one, double other) {
  throw InternalError("conservation law broken for sow " + std::to_string(sow) + ": " + what + " " +
                      std::to_string(one) + " against " + std::to_string(other));
}

bool differ(double one, double other) {
  return !(std::abs(one - other) <= rounding * (1 + std::abs(one) + std::abs(other)));
}

}  // namespace

void Ledger::check_feed(int sow, std::int64_t unaccounted_g) {
  ++checks_;
  if (unaccounted_g != 0) breach("feed unaccounted for [g]", sow, static_cast<double>(unaccounted_g), 0);
}

void Ledger::check_energy(int sow, double eaten_mcal, double accounted_mcal) {
  ++checks_;
  if (differ(eaten_mcal, accounted_mcal)) breach("energy eaten [Mcal]", sow, eaten_mcal, accounted_mcal);
}

void Ledger::check_litter(int sow, int came, int accounted) {
  ++checks_;
  if (came != accounted) breach("piglets", sow, came, accounted);
}

void Ledger::check_staff(double served_min, double tasks_min) {
  ++checks_;
  if (differ(served_min, tasks_min)) breach("staff minutes served", 0, served_min, tasks_min);
}

void Ledger::check_work_hours(double served_min, double hours_min) {
  ++checks_;
  if (differ(served_min, hours_min)) breach("staff minutes by hour of the day", 0, served_min, hours_min);
}

}  // namespace farrowtide
