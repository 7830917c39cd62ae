// People's time by hour of the day: what they worked on, and how many were there.
#pragma once

#include <array>
#include <cstdint>
#include <vector>

#include "libsim/kernel/resource.hpp"
#include "libsim/model/room_records.hpp"
#include "libsim/model/staff/roster.hpp"
#include "libsim/model/staff/task.hpp"

namespace farrowtide {

// Hears of all work of the staff, labelled by its TaskKind, and keeps what falls into the time that counts by hour.
class WorkHours final : public ServiceObserver {
 public:
  explicit WorkHours(CountedTime counted) : counted_(counted) {}

  void served(int task_kind, Time begin, Time end) noexcept override;

  Duration all() const;  // what counts and what does not

  // The rows that are not zero; duties with the people who are there.
  void write(RoomRecords& records, const std::vector<Duty>& duties) const;

 private:
  static constexpr int hours_a_day = 24;

  CountedTime counted_;
  Duration uncounted_;
  std::array<std::array<Duration, NameTable<TaskKind>::size>, hours_a_day> by_hour_{};
};

}  // namespace farrowtide
