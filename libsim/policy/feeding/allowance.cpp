#include "libsim/policy/feeding/allowance.hpp"

#include <algorithm>
#include <sstream>
#include <utility>

namespace farrowtide {

namespace {

double read_kg_per_day(Section& section, std::string name, std::string help, std::string coefficient, std::string rules,
                       std::vector<std::string> aliases = {}) {
  return section.number({.name = std::move(name),
                         .unit = "kg/d",
                         .low = 0,
                         .high = max_feed_kg_per_day,
                         .help = std::move(help),
                         .coefficient = std::move(coefficient),
                         .aliases = std::move(aliases),
                         .only_with = "feeding.allowance.rule: " + std::move(rules)});
}

double read_share(Section& section, std::string name, std::string help, std::string coefficient,
                  std::string only_with = {}) {
  return section.number({.name = std::move(name),
                         .low = 0,
                         .high = 1,
                         .help = std::move(help),
                         .coefficient = std::move(coefficient),
                         .only_with = std::move(only_with)});
}

}  // namespace

DailyAllowance::ByTrough DailyAllowance::ByTrough::read(Section& section) {
  ByTrough by_trough;
  by_trough.raise_kg_per_day = read_kg_per_day(
      section, "raise", "By trough: raise of her own deviation from the step-up if her trough is empty at the check.",
      "sow.feeding_practice.trough_raise", "by_trough");
  by_trough.lower_kg_per_day =
      read_kg_per_day(section, "lower", "By trough: cut of her own deviation if it is untouched; the sow is flagged.",
                      "sow.feeding_practice.trough_lower", "by_trough");
  by_trough.min_kg_per_day = read_kg_per_day(section, "min", "By trough: minimum allowance.",
                                             "sow.feeding_practice.trough_least", "by_trough", {"least"});
  by_trough.empty_share = read_share(
      section, "empty_up_to", "By trough: share of the feed offered that may be left in a trough that counts as empty.",
      "sow.feeding_practice.trough_empty_share", "feeding.allowance.rule: by_trough");
  by_trough.untouched_share =
      read_share(section, "untouched_from",
                 "By trough: share of the feed offered that is left from which a trough counts as untouched.",
                 "sow.feeding_practice.trough_untouched_share", "feeding.allowance.rule: by_trough");
  if (by_trough.untouched_share <= by_trough.empty_share && !section.describing())
    section.refuse("untouched_from", "must be more than empty_up_to");
  return by_trough;
}

double DailyAllowance::ByTrough::change_kg_per_day(double left_share) const {
  if (left_share >= untouched_share) return -lower_kg_per_day;
  return left_share <= empty_share ? raise_kg_per_day : 0;
}

DailyAllowance DailyAllowance::read(Section& section) {
  DailyAllowance allowance;
  allowance.rule_ = section.choice<Rule>({.name = "rule",
                                          .default_value = "step_up",
                                          .help = "How the daily allowance changes over lactation; by_trough: as "
                                                  "step_up, plus each sow's own deviation from it, adjusted at the "
                                                  "morning check of her trough."});
  const double start = read_kg_per_day(section, "start", "Step-up, by trough: allowance on lactation day 1.",
                                       "sow.feeding_practice.step_up_start", "step_up, by_trough");
  const double step = read_kg_per_day(section, "step", "Step-up, by trough: daily increase.",
                                      "sow.feeding_practice.step_up_step", "step_up, by_trough");
  const double max = read_kg_per_day(section, "max", "Step-up, by trough: maximum allowance.",
                                     "sow.feeding_practice.step_up_most", "step_up, by_trough", {"most"});
  const double flat =
      read_kg_per_day(section, "amount", "Flat: allowance on every day.", "sow.feeding_practice.flat_amount", "flat");
  const bool is_flat = allowance.rule_ == Rule::flat;
  allowance.start_kg_per_day_ = is_flat ? flat : start;
  allowance.step_kg_per_day_ = is_flat ? 0 : step;
  allowance.max_kg_per_day_ = is_flat ? flat : max;
  allowance.farrowing_day_share_ =
      read_share(section, "farrowing_day_share", "Share of the first day's allowance given on the farrowing day.",
                 "sow.feeding_practice.farrowing_day_share");
  allowance.by_trough_ = ByTrough::read(section);
  const bool starts_inside = allowance.by_trough_.min_kg_per_day <= start && start <= max;
  if (allowance.adjusts() && !starts_inside && !section.describing())
    section.refuse("start", "must be between min and max");
  allowance.kg_by_day_ =
      section
          .optional_numbers(
              {.name = "amounts",
               .unit = "kg/d",
               .low = 0,
               .high = max_feed_kg_per_day,
               .min_items = 1,
               .max_items = 60,
               .help = "By day: allowance on lactation day 1, 2 and so on; the last one applies from then on.",
               .only_with = "feeding.allowance.rule: by_day"})
          .value_or(std::vector<double>{});
  allowance.change_by_parity_ =
      section
          .optional_numbers({.name = "change_by_parity",
                             .unit = "kg/d",
                             .low = -5,
                             .high = 5,
                             .min_items = 1,
                             .max_items = 12,
                             .help =
                                 "Added to the allowance of parity 1, 2 and so on from lactation day 1; the last one "
                                 "applies from then on."})
          .value_or(std::vector<double>{});
  if (allowance.rule_ == Rule::by_day && allowance.kg_by_day_.empty())
    section.refuse("rule", "requires an amount for each day", "amounts: [2.0, 2.5, 3.0]");
  return allowance;
}

double DailyAllowance::kg_per_day(int lactation_day) const {
  if (lactation_day <= 0) return farrowing_day_share_ * kg_per_day(1);
  if (rule_ == Rule::by_day) {
    const auto day = std::min(static_cast<std::size_t>(lactation_day), kg_by_day_.size());
    return kg_by_day_[day - 1];
  }
  return std::min(max_kg_per_day_, start_kg_per_day_ + step_kg_per_day_ * (lactation_day - 1));
}

double DailyAllowance::kg_per_day(int lactation_day, std::optional<double> own_kg_per_day, int set_on_day) const {
  if (!own_kg_per_day || lactation_day <= 0) return own_kg_per_day.value_or(kg_per_day(lactation_day));
  if (!adjusts()) return *own_kg_per_day;
  const double deviation_kg_per_day = *own_kg_per_day - kg_per_day(std::max(1, set_on_day));
  return std::clamp(kg_per_day(lactation_day) + deviation_kg_per_day, by_trough_.min_kg_per_day, max_kg_per_day_);
}

double DailyAllowance::change_of_parity(int parity) const {
  if (change_by_parity_.empty()) return 0;
  return change_by_parity_[std::min(static_cast<std::size_t>(parity), change_by_parity_.size()) - 1];
}

TroughDecision DailyAllowance::at_trough_check(const TroughView& view) const {
  const bool settled = view.day >= 1 && view.offered_kg > 0;  // not if she farrowed today, or was offered nothing
  if (!adjusts() || !settled) return {};
  const double left_share = view.left_kg / view.offered_kg;
  const double now_kg_per_day = kg_per_day(view.day, view.own_allowance_kg_per_day, view.own_allowance_day);
  const double next_kg_per_day = now_kg_per_day + by_trough_.change_kg_per_day(left_share);
  return {.allowance_kg_per_day = std::clamp(next_kg_per_day, by_trough_.min_kg_per_day, max_kg_per_day_),
          .flag = left_share >= by_trough_.untouched_share};
}

std::string DailyAllowance::describe() const {
  std::ostringstream text;
  if (rule_ == Rule::flat) {
    text << start_kg_per_day_ << " kg/d";
  } else if (rule_ == Rule::by_day) {
    text << "set day by day, from " << kg_by_day_.front() << " to " << kg_by_day_.back() << " kg/d";
  } else if (rule_ == Rule::by_trough) {
    text << start_kg_per_day_ << " kg/d on day 1, " << step_kg_per_day_
         << " kg more each day, and for each sow more or less at the morning trough check: "
         << by_trough_.raise_kg_per_day << " kg more if empty, " << by_trough_.lower_kg_per_day
         << " kg less if untouched, " << by_trough_.min_kg_per_day << " to " << max_kg_per_day_ << " kg/d";
  } else {
    text << start_kg_per_day_ << " kg/d on day 1, " << step_kg_per_day_ << " kg more each day up to " << max_kg_per_day_
         << " kg/d";
  }
  if (!change_by_parity_.empty()) text << ", more or less by parity";
  return text.str();
}

}  // namespace farrowtide
