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

// The label of a seat of the staff: what is done in it, and for which sow; 0 for none.
struct WorkLabel {
  TaskKind kind;
  int sow = 0;

  constexpr int code() const {
    return static_cast<int>(static_cast<unsigned>(sow) * places + static_cast<unsigned>(kind));
  }
  static constexpr WorkLabel of(int code) {
    const auto whole = static_cast<unsigned>(code);
    return {static_cast<TaskKind>(whole % places), static_cast<int>(whole / places)};
  }

 private:
  static constexpr unsigned places = 32;  // for kinds; a power of two, because every stretch of work is decoded
  static_assert(NameTable<TaskKind>::size <= places);
};

// Observes all work of the staff and sums the work within the counted period by hour of the day. Writes each stretch of
// work to `stretches`, if given.
class WorkHours final : public ServiceObserver {
 public:
  explicit WorkHours(CountedTime counted, RoomRecords* stretches = nullptr)
      : counted_(counted), stretches_(stretches) {}

  void served(int work_label, Time begin, Time end) noexcept override;

  Duration all() const;  // inside and outside the counted period

  // Writes all non-zero rows; `duties` holds the people actually present.
  void write(RoomRecords& records, const std::vector<Duty>& duties) const;

 private:
  static constexpr int hours_a_day = 24;

  CountedTime counted_;
  RoomRecords* stretches_;
  Duration uncounted_;
  std::array<std::array<Duration, NameTable<TaskKind>::size>, hours_a_day> by_hour_{};
};

// Writes the periods with people at work and on break.
void write_roster(RoomRecords& records, const std::vector<Duty>& at_work, const std::vector<Duty>& breaks);

}  // namespace farrowtide
