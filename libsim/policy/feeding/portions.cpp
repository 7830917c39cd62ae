#include "libsim/policy/feeding/portions.hpp"

#include <algorithm>
#include <iterator>
#include <numeric>
#include <sstream>
#include <string>

namespace farrowtide {
namespace {

constexpr double one_gram_kg = 0.001;  // feed is counted in grams

std::optional<FeedingDecision> portion(std::span<const Duration> rounds, Duration round, double allowance_kg_per_day) {
  if (!std::ranges::binary_search(rounds, round)) return std::nullopt;
  return FeedingDecision{FeedAccess::by_hand, allowance_kg_per_day / static_cast<double>(rounds.size())};
}

std::vector<double> read_shares(Section& section, std::size_t rounds) {
  std::vector<double> shares = section
                                   .optional_numbers({.name = "shares",
                                                      .low = 0,
                                                      .high = 1,
                                                      .min_items = 1,
                                                      .max_items = 8,
                                                      .help = "Shares of the day's feed given at each of the times; "
                                                              "normalised to sum to 1. Equal by default."})
                                   .value_or(std::vector<double>{});
  if (shares.empty() || section.describing()) return {};
  const double sum = std::accumulate(shares.begin(), shares.end(), 0.0);
  if (shares.size() != rounds) {
    section.refuse("shares", "does not have one share for each feeding time", std::to_string(rounds) + " shares");
  } else if (sum <= 0) {
    section.refuse("shares", "are all 0", "a share above 0 for at least one feed");
  }
  for (double& share : shares) share /= sum;
  return shares;
}

}  // namespace

PreFarrowFeeding PreFarrowFeeding::read(Section& section) {
  PreFarrowFeeding feeding;
  feeding.rounds = section.times_of_day({.name = "times",
                                         .min_items = 1,
                                         .max_items = 6,
                                         .default_value = std::vector<std::string>{"07:00", "15:00"},
                                         .help = "Clock times of the feeds before farrowing."});
  feeding.allowance_kg_per_day =
      section.number({.name = "allowance",
                      .unit = "kg/d",
                      .low = 0,
                      .high = max_feed_kg_per_day,
                      .help = std::string("Daily feed until she has farrowed, in equal portions.") + pre_farrow_caution,
                      .coefficient = "sow.feeding_practice.pre_farrow_allowance"});
  return feeding;
}

std::optional<FeedingDecision> PreFarrowFeeding::decide(const FeedingView& view) const {
  return portion(rounds, view.round, allowance_kg_per_day);
}

std::string PreFarrowFeeding::describe() const {
  std::ostringstream text;
  text << "before farrowing " << allowance_kg_per_day << " kg/d in " << rounds.size()
       << (rounds.size() == 1 ? " feed" : " feeds");
  return text.str();
}

std::optional<NightTopUp> NightTopUp::read(Section& section) {
  const auto round =
      section.optional_time_of_day({.name = "night_top_up",
                                    .help = "Clock time of a late round that fills only empty troughs of sows that "
                                            "have farrowed. By hand, someone must be on duty then, and working alone "
                                            "at night is a hazard; a machine needs a sensor in the trough."});
  const double kg = section.number({.name = "top_up",
                                    .unit = "kg",
                                    .low = 0,
                                    .high = max_feed_kg_per_day,
                                    .help = "Feed given at night_top_up, on top of the allowance.",
                                    .coefficient = "sow.feeding_practice.night_top_up"});
  if (!round && section.has("top_up"))
    section.refuse("top_up", "requires the time of the round", "night_top_up: \"22:00\"");
  return round ? std::optional(NightTopUp{*round, kg}) : std::nullopt;
}

LactationFeeding LactationFeeding::read(Section& section, const TimesOfDay& times) {
  LactationFeeding feeding;
  feeding.rounds = section.times_of_day(times);
  feeding.shares = read_shares(section, feeding.rounds.size());
  feeding.allowance = section.read<DailyAllowance>("allowance", "Daily feed allowance of a sow.");
  feeding.stale_feed = section.choice<StaleFeed>(
      {.name = "remove_stale",
       .default_value = "daily",
       .help =
           "Whether stale feed (older than room.feed_keeps) is removed from troughs: daily, on the first visit that "
           "finds some, before fresh feed is poured; never, for comparison only."});
  feeding.top_up = NightTopUp::read(section);
  if (feeding.top_up && std::ranges::binary_search(feeding.rounds, feeding.top_up->round))
    section.refuse("night_top_up", "is also one of the feeding times", "another time");
  return feeding;
}

std::optional<FeedingDecision> LactationFeeding::decide(const FeedingView& view) const {
  if (top_up && view.round == top_up->round) {
    const bool empty = view.in_trough_kg < one_gram_kg;
    return empty ? std::optional(FeedingDecision{FeedAccess::by_hand, top_up->kg}) : std::nullopt;
  }
  const double kg_per_day =
      std::max(0.0, allowance.kg_per_day(view.day, view.own_allowance_kg_per_day, view.own_allowance_day) +
                        (view.day > 0 ? allowance.change_of_parity(view.parity) : 0));
  if (shares.empty()) return portion(rounds, view.round, kg_per_day);
  const auto round = std::ranges::lower_bound(rounds, view.round);
  if (round == rounds.end() || *round != view.round) return std::nullopt;
  return FeedingDecision{FeedAccess::by_hand, kg_per_day * shares[static_cast<std::size_t>(round - rounds.begin())]};
}

std::optional<TroughDecision> LactationFeeding::at_trough_check(const TroughView& view) const {
  if (!checks_troughs()) return std::nullopt;
  return allowance.at_trough_check(view);
}

std::string LactationFeeding::describe() const {
  std::ostringstream text;
  text << rounds.size() << (rounds.size() == 1 ? " time" : " times") << " a day"
       << (shares.empty() ? "" : " in unequal portions") << ", " << allowance.describe();
  if (top_up) text << ", and " << top_up->kg << " kg into empty troughs at night";
  if (stale_feed == StaleFeed::never_removed) text << ", stale feed never removed";
  return text.str();
}

std::vector<Duration> merged(std::span<const Duration> first, std::span<const Duration> second) {
  std::vector<Duration> all;
  std::ranges::set_union(first, second, std::back_inserter(all));
  return all;
}

void PortionFeeding::read_portions(Section& section, const TimesOfDay& times) {
  lactation_ = LactationFeeding::read(section, times);
  water_added_ = section.boolean(
      {.name = "water_added", .default_value = false, .help = "Whether water is added to the trough with the feed."});
  pre_farrow_ = section.read<PreFarrowFeeding>("pre_farrow", "Feeding between loading and farrowing.");
  rounds_ = merged(lactation_.rounds, pre_farrow_.rounds);
  if (lactation_.top_up) rounds_ = merged(rounds_, {&lactation_.top_up->round, 1});
}

std::optional<FeedingDecision> PortionFeeding::decide(const FeedingView& view) const {
  return view.farrowed ? lactation_.decide(view) : pre_farrow_.decide(view);
}

std::string PortionFeeding::describe_portions() const {
  return lactation_.describe() + (water_added_ ? ", with water; " : "; ") + pre_farrow_.describe();
}

std::optional<TroughDecision> PortionFeeding::at_trough_check(const TroughView& view) const {
  return lactation_.at_trough_check(view);
}

}  // namespace farrowtide
