#include "libsim/model/work_hours.hpp"

#include <algorithm>

#include "libsim/record/rows.hpp"

namespace farrowtide {
namespace {

// Splits the part of an interval within the counted period at every full hour and calls `add(hour, length)` for each.
template <class Add>
void by_hour_of_day(CountedTime counted, Time begin, Time end, Add add) {
  const Time until = std::min(end, counted.until);
  for (Time from = std::max(begin, counted.from); from < until;) {
    const auto hour = from.second_of_day() / (1_h).seconds();
    const Time next = std::min(until, from.start_of_day() + (hour + 1) * 1_h);
    add(static_cast<std::size_t>(hour), next - from);
    from = next;
  }
}

}  // namespace

void WorkHours::served(int work_label, Time begin, Time end) noexcept {
  const WorkLabel label = WorkLabel::of(work_label);
  const auto kind = static_cast<std::size_t>(label.kind);
  if (stretches_) {
    stretches_->write(StretchRow{.kind = static_cast<std::int32_t>(label.kind),
                                 .sow = label.sow > 0 ? label.sow : -1,
                                 .from_h = begin.since_start().hours(),
                                 .until_h = end.since_start().hours()});
  }
  Duration counted;
  by_hour_of_day(counted_, begin, end, [&](std::size_t hour, Duration length) {
    by_hour_[hour][kind] += length;
    counted += length;
  });
  uncounted_ += end - begin - counted;
}

Duration WorkHours::all() const {
  Duration sum = uncounted_;
  for (const auto& kinds : by_hour_) {
    for (const Duration worked : kinds) sum += worked;
  }
  return sum;
}

void WorkHours::write(RoomRecords& records, const std::vector<Duty>& duties) const {
  const double days = (counted_.until - counted_.from).days();
  std::array<Duration, hours_a_day> on_duty{};
  for (const Duty& duty : duties) {
    by_hour_of_day(counted_, duty.begin, duty.end,
                   [&](std::size_t hour, Duration length) { on_duty[hour] += length * duty.people; });
  }
  for (std::int32_t hour = 0; hour < hours_a_day; ++hour) {
    const auto& kinds = by_hour_[static_cast<std::size_t>(hour)];
    for (std::int32_t kind = 0; const Duration worked : kinds) {
      if (worked > 0_s) records.write(WorkHourRow{.hour = hour, .kind = kind, .minutes = worked.minutes()});
      ++kind;
    }
    const Duration there = on_duty[static_cast<std::size_t>(hour)];
    if (there > 0_s) records.write(DutyHourRow{.hour = hour, .on_duty_min = there.minutes(), .days = days});
  }
}

void write_roster(RoomRecords& records, const std::vector<Duty>& at_work, const std::vector<Duty>& breaks) {
  const auto write = [&](const std::vector<Duty>& periods, RosterState state) {
    for (const Duty& period : periods) {
      records.write(RosterRow{.state = static_cast<std::int32_t>(state),
                              .from_h = period.begin.since_start().hours(),
                              .until_h = period.end.since_start().hours(),
                              .people = period.people});
    }
  };
  write(at_work, RosterState::at_work);
  write(breaks, RosterState::on_break);
}

}  // namespace farrowtide
