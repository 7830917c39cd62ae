// What must hold for every scenario that bytes decide: it is refused with places inside it, or its first week (of some
// scenarios, the whole stay) runs without an error, with balanced ledgers and finite numbers, none of them missing but
// where it may be.
#pragma once

#include <algorithm>
#include <cmath>
#include <cstdint>
#include <optional>
#include <string>
#include <utility>
#include <variant>
#include <vector>

#include "libsim/model/farm.hpp"
#include "libsim/model/room_tables.hpp"
#include "libsim/run/scenario.hpp"
#include "tests/fuzz/drawn.hpp"
#include "tests/fuzz/reading.hpp"

namespace farrowtide {

// How a scenario is simulated; the bytes decide that first.
struct Trial {
  std::uint64_t seed;
  bool whole_stay;
  std::size_t alternative;
  std::vector<std::pair<std::string, double>> coefficients;  // single ones, within their ranges

  static Trial drawn(Bytes& bytes) {
    Trial trial{.seed = bytes.byte(), .whole_stay = bytes.one_in(16), .alternative = bytes.byte(), .coefficients = {}};
    const Coefficients all = Coefficients::built_in();
    for (std::size_t n = bytes.one_in(4) ? 1 + bytes.below(3) : 0; n > 0; --n) {
      const Coefficient& one = all[bytes.two_bytes() % all.size()];
      const double value = std::lerp(one.low.front(), one.high.front(), bytes.byte() / 255.0);
      if (!one.is_table()) trial.coefficients.emplace_back(one.path, value);
    }
    return trial;
  }
};

// What a random scenario came to.
struct Outcome {
  std::string breach;  // "" or what does not hold
  bool refused_as_drawn = false;
  bool simulated = false;
  std::uint64_t checks = 0;  // of conservation laws
};

// Removes what is at the key of a mistake, wherever a variation may have put it; all variations if it is nowhere.
inline void without_mistaken(Drawn& drawn, const std::string& key) {
  bool dropped = drop(drawn, key);
  for (const char* variations : {"cases", "alternatives"}) {
    if (Drawn* named = drawn.find(variations); named != nullptr && !dropped) {
      for (auto& [name, changes] : named->entries) dropped |= drop(changes, key);
    }
  }
  if (dropped) return;
  drop(drawn, key.substr(0, key.find('.')));
  drop(drawn, "cases");
  drop(drawn, "alternatives");
}

// One of its alternatives, which need not be valid together with all of its cases; as written if it has none.
inline Scenario one_of(const Scenario& scenario, std::size_t number) {
  const std::vector<Variation>& alternatives = scenario.alternatives();
  return alternatives.empty() ? scenario : scenario.alternative(alternatives[number % alternatives.size()].name);
}

// The scenario to simulate, without what the reader refuses; nothing if that does not end.
inline std::optional<Scenario> accepted(Drawn drawn, const Trial& trial, Outcome& outcome) {
  for (int tries = 0; tries < 8; ++tries) {
    const std::string text = as_file(drawn);
    std::vector<Mistake> mistakes;
    try {
      return one_of(Scenario::parse(text, "text"), trial.alternative);
    } catch (const ScenarioError& error) {
      mistakes = error.mistakes();
    }
    outcome.refused_as_drawn = true;
    if (mistakes.empty()) outcome.breach = "an error without a mistake";
    for (const Mistake& mistake : mistakes) {
      if (outcome.breach.empty()) outcome.breach = breach_of(mistake, text);
      without_mistaken(drawn, mistake.key);
    }
    if (!outcome.breach.empty()) return {};
  }
  return {};
}

// A row of each kind as it is before anything is known: what may be missing is missing there.
inline RoomTables blank_rows() {
  RoomTables blank;
  blank.sows.add({});
  blank.sow_days.add({});
  blank.piglets.add({});
  blank.room_hours.add({});
  blank.tasks.add({});
  blank.work_hours.add({});
  blank.duty_hours.add({});
  blank.events.add({});
  blank.visits.add({});
  blank.stretches.add({});
  blank.roster.add({});
  blank.deaths.add({});
  return blank;
}

// The first column with a number that is infinite, or missing though it may not be; "" if there is none.
inline std::string not_finite(const RoomTables& tables) {
  static const RoomTables blank = blank_rows();
  const std::vector<const Table*> all = tables.all(), blanks = std::as_const(blank).all();
  for (std::size_t table = 0; table < all.size(); ++table) {
    for (std::size_t column = 0; column < all[table]->infos().size(); ++column) {
      const auto* values = std::get_if<std::vector<double>>(&all[table]->column(column));
      if (!values) continue;
      const bool may_be_missing = std::isnan(std::get<std::vector<double>>(blanks[table]->column(column)).front());
      const auto wrong = [&](double value) { return std::isinf(value) || (std::isnan(value) && !may_be_missing); };
      if (std::ranges::any_of(*values, wrong)) {
        return std::string(all[table]->name()) + "." + std::string(all[table]->infos()[column].name);
      }
    }
  }
  return "";
}

// Piglets born and moved in are those that nurse, died or were moved out, at any moment.
inline void check_litters(const Farm& farm, Ledger& ledger) {
  for (const FarrowingRoom& room : farm.groups) {
    for (const Sow& sow : room.sows) {
      const Litter& litter = sow.litter;
      ledger.check_litter(sow.number, litter.born_alive + litter.moved_in,
                          litter.nursing() + litter.died + litter.moved_out);
      ledger.check_feed(sow.number, sow.feeding.trough.unaccounted_g());
    }
  }
}

inline void simulate(const Scenario& scenario, const Trial& trial, Outcome& outcome) {
  const Biology biology{scenario.coefficients()};
  RoomTables tables;
  Farm farm(scenario.farm(), biology, Draws{.seed = trial.seed}, Recording{.events = true, .causes = true}, tables);
  Ledger ledger;
  if (trial.whole_stay) {
    farm.run();
  } else {
    farm.begin();
    farm.clock.run_until(Time{} + 7 * 1_d);
    check_litters(farm, ledger);
  }
  outcome.simulated = true;
  outcome.checks = farm.checks() + ledger.checks();
  if (const std::string column = not_finite(tables); !column.empty()) outcome.breach = "no finite number in " + column;
}

inline Outcome judged(const std::uint8_t* data, std::size_t size) {
  static const Declaration root = scenario_declaration();
  Bytes bytes(data, size);
  Outcome outcome;
  const Trial trial = Trial::drawn(bytes);
  try {
    const std::optional<Scenario> scenario = accepted(Drawing(bytes).scenario(root), trial, outcome);
    if (!scenario) return outcome;
    simulate(scenario->with_coefficients(scenario->coefficients().with_values(trial.coefficients)), trial, outcome);
  } catch (const std::exception& error) {
    outcome.breach = std::string("an error: ") + error.what();
  }
  return outcome;
}

}  // namespace farrowtide
