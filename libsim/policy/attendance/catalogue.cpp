#include "libsim/policy/attendance/attendance.hpp"
#include "libsim/policy/attendance/close_watch.hpp"
#include "libsim/policy/attendance/rounds.hpp"
#include "libsim/policy/attendance/unattended.hpp"

namespace farrowtide {

std::span<const CatalogueEntry<AttendancePolicy>> attendance_catalogue() {
  static const CatalogueEntry<AttendancePolicy> entries[] = {
      {"rounds", "Staff go round all sows that farrow, and help.", FarrowingRounds::read},
      {"close_watch", "Rounds more often, but only to sows not seen for long or whose next piglet is long in coming.",
       CloseWatch::read},
      {"none", "Nobody goes round: births are not attended, and no sow is helped. For comparisons only.",
       Unattended::read},
  };
  return entries;
}

}  // namespace farrowtide
