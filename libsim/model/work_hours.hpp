// Staff time by hour of the day: time worked by kind of task, and time on duty.
#pragma once

#include <array>
#include <cstdint>
#include <vector>

#include "libsim/kernel/resource.hpp"
#include "libsim/model/room_records.hpp"
#include "libsim/model/staff/roster.hpp"
#include "libsim/model/staff/task.hpp"

namespace farrowtide {

// Observes all work of the staff, labelled by TaskKind, and sums the work within the counted period by hour of the day.
class WorkHours final : public ServiceObserver {
 public:
  explicit WorkHours(CountedTime counted) : counted_(counted) {}

  void served(int task_kind, Time begin, Time end) noexcept override;

  Duration all() const;  // inside and outside the counted period

  // Writes all non-zero rows; `duties` holds the people actually present.
  void write(RoomRecords& records, const std::vector<Duty>& duties) const;

 private:
  static constexpr int hours_a_day = 24;

  CountedTime counted_;
  Duration uncounted_;
  std::array<std::array<Duration, NameTable<TaskKind>::size>, hours_a_day> by_hour_{};
};

}  // namespace farrowtide
