// The attendance family: who is there when sows farrow, how often they look, and when they help. Decisions only. An
// exam is a skilled internal procedure: the herd veterinarian and local rules decide who makes it. Lone night work is a
// hazard of its own.
#pragma once

#include <memory>
#include <optional>
#include <span>
#include <string>

#include "libsim/kernel/time.hpp"
#include "libsim/policy/catalogue.hpp"

namespace farrowtide {

// What is known of a sow that farrows when a round comes by.
struct LabourView {
  int parity = 1;
  int births = 0;  // so far
  int exams = 0;   // so far
  double since_first_birth_min = 0;
  double since_last_birth_min = 0;
  std::optional<double> since_last_look_min = {};  // nothing: nobody has seen her since labour began
};

class AttendancePolicy {
 public:
  virtual ~AttendancePolicy() = default;

  // Time between rounds while staff are on; none: nobody goes round and nobody helps.
  virtual std::optional<Duration> round_every() const = 0;

  // Whether this round goes to her.
  virtual bool look_at(const LabourView& view) const = 0;

  // Whether she is examined.
  virtual bool help(const LabourView& view) const = 0;

  // People in the room from the end of the last shift to the begin of the first.
  virtual int night_people() const = 0;

  // How much is done for each newborn, 0-1: dried, cleared, warmed, brought to the udder.
  virtual double care_intensity() const = 0;

  // One sentence for reports and `explain`.
  virtual std::string describe() const = 0;
};

std::span<const CatalogueEntry<AttendancePolicy>> attendance_catalogue();

}  // namespace farrowtide
