#include "libsim/policy/attendance/attendance.hpp"
#include "libsim/policy/attendance/close_watch.hpp"
#include "libsim/policy/attendance/present.hpp"
#include "libsim/policy/attendance/rounds.hpp"
#include "libsim/policy/attendance/unattended.hpp"

namespace farrowtide {

std::span<const CatalogueEntry<AttendancePolicy>> attendance_catalogue() {
  static const CatalogueEntry<AttendancePolicy> entries[] = {
      {"rounds", "Rounds to all sows in labour, with help.", FarrowingRounds::read},
      {"close_watch",
       "More frequent rounds, but only to sows not seen for some time or whose next piglet is slow to come.",
       CloseWatch::read},
      {"present",
       "Somebody stays with the sows in labour while staff are on duty and can be spared from all other work with "
       "animals; every birth is then attended at once. Rounds go on as well.",
       PresentAtBirths::read},
      {"none", "No rounds: births are not attended, and no sow is helped. For comparisons only.", Unattended::read},
  };
  return entries;
}

}  // namespace farrowtide
