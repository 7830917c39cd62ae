#include "libsim/run/prices.hpp"

#include <algorithm>

namespace farrowtide {
namespace {

constexpr double most = 1e9;                  // of any price, so that those in a currency of small units are in range
constexpr std::size_t longest_currency = 12;  // bytes

std::vector<Number> declared_prices() {
  const auto price = [](const char* name, const char* help, const char* only_with = "") {
    return Number{.name = name, .low = 0, .high = most, .help = help, .only_with = only_with};
  };
  return {
      price("weaned_piglet", "Paid for each piglet weaned."),
      price("weaned_kg", "Paid for each kg of piglet weaned; added to weaned_piglet where both are given."),
      price("next_litter_piglet",
            "Worth of a piglet born in the sow's next litter; counts how much larger or smaller that litter is."),
      price("feed_per_kg", "Price of a kg of lactation feed put into the troughs, eaten or not."),
      price("hour_of_work", "Cost of an hour worked at tasks. Not together with hour_on_duty."),
      price("hour_on_duty",
            "Cost of an hour on duty by the roster, worked or not, breaks and absences excluded. Not together with "
            "hour_of_work."),
      price("treatment", "Cost of the medicine for a treatment of a sow; the work is in hour_of_work or hour_on_duty."),
      price("heating_per_kwh", "Price of a kWh of heat from the heater of the room; heat lamps are not counted.",
            "climate.kind: balance"),
      price("dead_sow", "Loss by a sow that dies between loading and weaning, beside the piglets lost with her."),
      price("empty_day", "Cost of a day from weaning to the next oestrus, of the sows that show it."),
  };
}

// Not a word that a table or a sentence could be broken by.
bool is_word(const std::string& text) {
  const auto breaks = [](unsigned char c) {
    return c <= ' ' || c == 0x7f || c == '%' || c == '[' || c == ']' || c == '{' || c == '}';
  };
  return !text.empty() && text.size() <= longest_currency && std::ranges::none_of(text, breaks);
}

}  // namespace

CostOfChange CostOfChange::read(Section& section) {
  CostOfChange change;
  const auto cost = [&](const char* name, const char* help) {
    return section.number({.name = name, .low = 0, .high = most, .default_value = 0, .help = help});
  };
  change.per_crate = cost("per_crate", "Spent for each crate, such as a feeder; spread evenly over lasts_years.");
  change.per_crate_and_year = cost("per_crate_and_year", "Spent for each crate every year, such as repairs.");
  change.once = cost("once", "Spent for all crates of the farm together; spread evenly over lasts_years.");
  change.training_hours = section.number({.name = "training_hours",
                                          .unit = "h",
                                          .low = 0,
                                          .high = 100000,
                                          .default_value = 0,
                                          .help = "Hours of training of all staff together, at the price of an hour; "
                                                  "spread evenly over lasts_years."});
  const std::optional<double> lasts_years =
      section.optional_number({.name = "lasts_years",
                               .unit = "-",
                               .low = 0.1,
                               .high = 100,
                               .help = "Years over which per_crate, once and training_hours are spread, without "
                                       "interest; required with any of them."});
  change.lasts_years = lasts_years.value_or(1);
  if (!section.describing() && !lasts_years && change.per_crate + change.once + change.training_hours > 0) {
    section.refuse("lasts_years", "is missing", "the years over which the cost of change is spread");
  }
  return change;
}

Prices Prices::read(Section& section) {
  Prices prices;
  prices.currency = section.string({.name = "currency", .help = "Unit of all prices, such as EUR: one word."});
  if (section.has("currency") && !section.describing() && !is_word(prices.currency)) {
    section.refuse("currency", "is not one word",
                   "up to " + std::to_string(longest_currency) + " letters, such as EUR");
  }
  for (const Number& key : declared_prices()) {
    if (const std::optional<double> price = section.optional_number(key)) prices.given.emplace_back(key.name, *price);
  }
  prices.change = section.read<CostOfChange>(
      "change", "Cost of changing to an alternative, which gives it as prices.change; none by default.");
  prices.matters_per_litter =
      section.optional_number({.name = "matters_per_litter",
                               .low = 1e-6,
                               .high = most,
                               .help = "Smallest difference in money per litter that matters. By default, that of "
                                       "the output whose smallest difference that matters is worth most."});
  if (section.describing()) return prices;
  const auto has = [&](const char* name) {
    return std::ranges::any_of(prices.given, [&](const auto& price) { return price.first == name; });
  };
  const bool hour_has_price = has("hour_of_work") || has("hour_on_duty");
  if (has("hour_of_work") && has("hour_on_duty")) {
    section.refuse("hour_of_work", "is given together with hour_on_duty, so that hours worked would be paid twice",
                   "one of the two");
  }
  if (std::ranges::none_of(prices.given, [](const auto& price) { return price.second > 0; })) {
    section.refuse("", "has no price above 0", "at least one price");
  }
  if (prices.change.training_hours > 0 && !hour_has_price) {
    section.refuse("change", "has training_hours, but an hour has no price", "hour_of_work or hour_on_duty as well");
  }
  return prices;
}

bool Prices::counts_same_things_as(const Prices& other) const {
  const auto key = [](const auto& price) { return price.first; };
  return currency == other.currency && matters_per_litter == other.matters_per_litter &&
         std::ranges::equal(given, other.given, {}, key, key);
}

}  // namespace farrowtide
