// The attendance family: who is present when sows farrow, how often they look, and when they help. Decisions only. An
// internal examination is a skilled procedure: the herd veterinarian and local rules decide who makes it. Working alone
// at night is a hazard of its own.
#pragma once

#include <memory>
#include <optional>
#include <span>
#include <string>

#include "libsim/kernel/time.hpp"
#include "libsim/policy/catalogue.hpp"

namespace farrowtide {

// What is known of a sow in labour when a round reaches her.
struct LabourView {
  int parity = 1;
  int births = 0;  // so far
  int exams = 0;   // so far
  double since_first_birth_min = 0;
  double since_last_birth_min = 0;
  std::optional<double> since_last_look_min = {};  // empty: she has not been seen since labour began
};

class AttendancePolicy {
 public:
  virtual ~AttendancePolicy() = default;

  // Time between rounds while staff are on duty; empty: no rounds and no help.
  virtual std::optional<Duration> round_every() const = 0;

  // Whether this round visits her.
  virtual bool look_at(const LabourView& view) const = 0;

  // Whether she is examined.
  virtual bool help(const LabourView& view) const = 0;

  // People in the room from the end of the last shift to the start of the first.
  virtual int night_people() const = 0;

  // Whether one person stays with the sows in labour of a room while people are on duty and one of them can be spared.
  virtual bool stays() const { return false; }

  // The extent of care for each newborn piglet, 0-1: drying, clearing airways, warming, helping to the udder.
  virtual double care_intensity() const = 0;

  // One sentence for reports and `explain`.
  virtual std::string describe() const = 0;
};

std::span<const CatalogueEntry<AttendancePolicy>> attendance_catalogue();

}  // namespace farrowtide
