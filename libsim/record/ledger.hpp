// The conservation laws that hold in every run; a breach is a bug and ends the run.
#pragma once

#include <cstdint>

namespace farrowtide {

class Ledger {
 public:
  // Feed offered less eaten, wasted, removed and in the trough [g], which must be 0.
  void check_feed(int sow, std::int64_t unaccounted_g);
  // Energy eaten against maintenance, milk and body, each computed independently [Mcal].
  void check_energy(int sow, double eaten_mcal, double accounted_mcal);
  // Piglets born alive and moved in against nursing or weaned, dead and moved out.
  void check_litter(int sow, int came, int accounted);
  // Minutes worked by people against the sum over the tasks.
  void check_staff(double served_min, double tasks_min);
  // Minutes worked by people against the sum over hours of the day and kinds of task.
  void check_work_hours(double served_min, double hours_min);

  std::uint64_t checks() const { return checks_; }

 private:
  std::uint64_t checks_ = 0;
};

}  // namespace farrowtide
