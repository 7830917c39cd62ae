#include "libsim/policy/care/checked_sows.hpp"

#include <algorithm>
#include <cmath>
#include <sstream>
#include <string>
#include <utility>

namespace farrowtide {
namespace {

constexpr const auto& sign_names = NameTable<Sign>::all;
constexpr auto index(Sign sign) { return static_cast<std::size_t>(sign); }

SignSet read_signs(Section& section, TemperatureCheck temperature) {
  const bool always = temperature == TemperatureCheck::always;
  const std::vector<std::string> options(sign_names.begin() + (always ? 1 : 0), sign_names.end());
  std::vector<std::string> default_checks = {"temperature", "nursing", "not_eaten"};
  if (always) default_checks.erase(default_checks.begin());
  const std::vector<std::string> chosen =
      section.strings({.name = "checks",
                       .options = options,
                       .default_value = default_checks,
                       .help = always ? "Signs looked for besides the temperature; an empty list for none."
                                      : "Signs looked for in sows that have farrowed; an empty list for none."});
  SignSet signs;
  for (std::size_t i = 0; i < signs.size(); ++i) signs[i] = std::ranges::find(chosen, sign_names[i]) != chosen.end();
  if (always) signs.set(index(Sign::temperature));
  return signs;
}

}  // namespace

RiskSigns::RiskSigns(const Coefficients& coefficients)
    : long_farrowing_min_(coefficients.number("sow.farrowing.help.alarm_duration", "min")),
      stillborn_(static_cast<int>(std::lround(coefficients.number("staff.practice.at_risk_stillborn", "piglets")))) {}

bool RiskSigns::at_risk(const CareView& view) const {
  return view.farrowing_duration_min >= long_farrowing_min_ || view.assisted || view.stillborn >= stillborn_;
}

EarlyWeaning EarlyWeaning::read(Section& section) {
  EarlyWeaning weaning;
  weaning.on =
      section.boolean({.name = "wean_early",
                       .default_value = false,
                       .help = "Whether the litter of a sow that stays off feed is weaned before the group. Local law "
                               "sets the minimum age, and the herd veterinarian decides what such a sow needs."});
  weaning.from_day = section.integer(
      {.name = "wean_from_day",
       .low = 17,
       .high = 35,
       .help = "First lactation day on which a litter may be weaned early. Local law may require a higher age.",
       .coefficient = "staff.practice.wean_early_from_day",
       .only_with = "care.wean_early: true"});
  weaning.off_feed_days =
      section.integer({.name = "off_feed_days",
                       .low = 1,
                       .high = 10,
                       .help = "Consecutive mornings on which a sow had eaten next to nothing, after which her litter "
                               "is weaned early.",
                       .coefficient = "staff.practice.off_feed_days_to_wean",
                       .only_with = "care.wean_early: true"});
  weaning.lame =
      section.boolean({.name = "wean_lame",
                       .default_value = false,
                       .help = "Whether the litter of a sow seen lame is weaned early too, from wean_from_day "
                               "on. What a lame sow needs is the herd veterinarian's decision.",
                       .only_with = "care.wean_early: true"});
  return weaning;
}

void CheckedSows::read_checks(Section& section, TemperatureCheck temperature) {
  signs_ = read_signs(section, temperature);
  temperature_after_ = section.duration(
      {.name = "after",
       .unit = "h",
       .low = 6,
       .high = 96,
       .help = "The rectal temperature is taken this long after farrowing, by people trained to handle "
               "sows safely.",
       .coefficient = "sow.rectal_temperature.check_at"});
  alarm_deg_c_ = section.number({.name = "alarm",
                                 .unit = "degC",
                                 .low = 38,
                                 .high = 42,
                                 .help = "Rectal temperature from which it is a sign of illness. What it calls for is "
                                         "the herd veterinarian's decision.",
                                 .coefficient = "sow.rectal_temperature.alarm"});
  until_day_ = section.integer({.name = "until_day",
                                .low = 0,
                                .high = 28,
                                .help = "Last lactation day with a morning check for the other signs.",
                                .coefficient = "staff.practice.signs_until_day"});
  whom_ = section.choice<Whom>({.name = "whom",
                                .default_value = "everyone",
                                .help = "Which sows are checked: all (everyone), or those at risk (at_risk) after a "
                                        "long farrowing, help, or several stillborn piglets."});
  risk_ = RiskSigns(section.coefficients());
  stand_up_ =
      section.times_of_day({.name = "stand_up",
                            .max_items = 6,
                            .default_value = std::vector<std::string>{},
                            .help = "Clock times at which sows are made to stand up, by people trained to handle sows "
                                    "safely. A sow that cannot get up needs the herd veterinarian."});
  stand_up_whom_ = section.choice<MadeToStand>(
      {.name = "stand_up_whom",
       .default_value = "everyone",
       .help =
           "Which sows are made to stand up: all (everyone), those of first parity (first_parity), or those seen not "
           "to eat or drink this morning (flagged)."});
  legs_at_loading_ = section.boolean(
      {.name = "legs_at_loading",
       .default_value = false,
       .help = "Whether each sow's legs are looked at as she walks to her crate, and a sow seen lame is treated as the "
               "herd veterinarian has prescribed."});
  weaning_ = EarlyWeaning::read(section);
}

std::optional<Duration> CheckedSows::temperature_after(const CareView& view) const {
  return signs_.test(index(Sign::temperature)) && is_checked(view) ? std::optional(temperature_after_) : std::nullopt;
}

SignSet CheckedSows::look_for(const CareView& view) const {
  if (view.lactation_day < 1 || view.lactation_day > until_day_ || !is_checked(view)) return {};
  return SignSet(signs_).reset(index(Sign::temperature));
}

bool CheckedSows::stands_up(const CareView& view) const {
  switch (stand_up_whom_) {
    case MadeToStand::everyone:
      return true;
    case MadeToStand::first_parity:
      return view.parity == 1;
    case MadeToStand::flagged:
      return view.off_feed_or_water;
  }
  return true;
}

bool CheckedSows::wean_today(const CareView& view) const {
  return weaning_.on && view.lactation_day >= weaning_.from_day &&
         (view.days_off_feed >= weaning_.off_feed_days || (weaning_.lame && view.seen_lame));
}

std::string CheckedSows::describe_checks() const {
  std::ostringstream text;
  text << (signs_.none()             ? "no sow checked"
           : whom_ == Whom::everyone ? "every sow checked for"
                                     : "sows at risk checked for");
  bool first = true;
  for (std::size_t i = 0; i < signs_.size(); ++i) {
    if (!signs_[i]) continue;
    text << (first ? " " : ", ") << sign_names[i];
    first = false;
  }
  if (!stand_up_.empty()) {
    text << (stand_up_whom_ == MadeToStand::everyone       ? "; made to stand up "
             : stand_up_whom_ == MadeToStand::first_parity ? "; first parity made to stand up "
                                                           : "; those off feed made to stand up ")
         << (stand_up_.size() == 1 ? "once" : std::to_string(stand_up_.size()) + " times") << " a day";
  }
  if (legs_at_loading_) text << "; legs looked at on loading, lame sows treated";
  if (weaning_.on) {
    text << "; weaned from day " << weaning_.from_day << " after " << weaning_.off_feed_days << " mornings off feed"
         << (weaning_.lame ? " or if lame" : "");
  }
  return text.str();
}

bool treated_within_a_day(const CareView& view) {
  constexpr double a_day_h = 24;
  return view.since_treatment_h && *view.since_treatment_h < a_day_h;
}

}  // namespace farrowtide
