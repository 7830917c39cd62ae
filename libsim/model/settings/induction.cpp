#include "libsim/model/settings/induction.hpp"

#include <string>

namespace farrowtide {

InductionSettings InductionSettings::read(Section& section) {
  InductionSettings induction;
  std::vector<std::string> kinds = {"none"};
  kinds.insert(kinds.end(), NameTable<InductionSchedule>::all.begin(), NameTable<InductionSchedule>::all.end());
  induction.schedule = value_named<InductionSchedule>(section.choice(
      {.name = "kind",
       .options = kinds,
       .default_value = "none",
       .help = "Induction of farrowing: a prescription procedure, decided by the herd veterinarian under local rules; "
               "inducing too early harms the piglets."}));
  induction.gestation_day = section.number({.name = "gestation_day",
                                            .unit = "d",
                                            .low = 110,
                                            .high = 120,
                                            .help = "Day of gestation on which farrowing is induced.",
                                            .coefficient = "sow.gestation.length_herd_mean",
                                            .only_with = "induction.kind: single, split"});
  induction.time_of_day = section.time_of_day({.name = "time",
                                               .default_value = "08:00",
                                               .help = "Clock time at which it is given.",
                                               .only_with = "induction.kind: single, split"});
  const double earliest_d =
      Induction(section.coefficients()).earliest_d(GestationLength(section.coefficients()).herd_mean_d());
  if (induction.schedule && induction.gestation_day < earliest_d) {
    section.refuse("gestation_day", "is more than two days before the herd's mean gestation length",
                   "at least " + std::to_string(earliest_d).substr(0, 5) + " d");
  }
  return induction;
}

}  // namespace farrowtide
