// The catalogues of all families: the allowed values of `kind:`, built-in policies and those added by a user.
#pragma once

#include <vector>

#include "libsim/policy/attendance/attendance.hpp"
#include "libsim/policy/care/care.hpp"
#include "libsim/policy/feeding/feeding.hpp"
#include "libsim/policy/fostering/fostering.hpp"
#include "libsim/policy/handling/handling.hpp"
#include "libsim/policy/loading/loading.hpp"
#include "libsim/policy/temperature/temperature.hpp"
#include "libsim/policy/water/water.hpp"

namespace farrowtide {

struct PolicyCatalogues {
  std::vector<CatalogueEntry<LoadingPolicy>> loading;
  std::vector<CatalogueEntry<FeedingPolicy>> feeding;
  std::vector<CatalogueEntry<WaterPolicy>> water;
  std::vector<CatalogueEntry<TemperaturePolicy>> temperature;
  std::vector<CatalogueEntry<AttendancePolicy>> attendance;
  std::vector<CatalogueEntry<CarePolicy>> care;
  std::vector<CatalogueEntry<FosteringPolicy>> fostering;
  std::vector<CatalogueEntry<HandlingPolicy>> handling;

  static PolicyCatalogues built_in();
};

}  // namespace farrowtide
