// A small scenario with one key of every kind, for the tests of the reader.
#pragma once

#include <memory>
#include <string>
#include <vector>

#include "libsim/kernel/names.hpp"
#include "libsim/scenario/section.hpp"

namespace farrowtide::barn {

constexpr const char* coefficient_text = R"(
water:
  flow: {value: 2, unit: "L/min", low: 1, high: 4, grade: A, source: "Author 2001, Journal 1:1"}
  bouts: {value: [3, 5], unit: "1/d", low: [1, 2], high: [6, 9], grade: C, axis: {name: parity, unit: "-", at: [1, 2]}, source: "assumption"}
  gap: {value: 90, unit: "min", low: 30, high: 180, grade: B, source: "Author 2002, Journal 2:2"}
  group: {value: 4, unit: "piglets", low: 1, high: 8, grade: C, source: "assumption", note: "by pen"}
)";

inline Coefficients coefficients() { return Coefficients().with_file(coefficient_text, "barn"); }

struct Feeding {
  virtual ~Feeding() = default;
  virtual std::string told() const = 0;
};

struct ByHand : Feeding {
  std::vector<Duration> times;
  std::string told() const override { return "by hand " + std::to_string(times.size()); }
  static std::unique_ptr<Feeding> read(Section& section) {
    auto policy = std::make_unique<ByHand>();
    policy->times = section.times_of_day({.name = "times",
                                          .min_items = 1,
                                          .max_items = 4,
                                          .default_value = {{"07:00", "15:00"}},
                                          .help = "When a meal is given."});
    return policy;
  }
};

struct FreeAccess : Feeding {
  double amount_kg_per_day = 0;
  std::string told() const override { return "free " + number_text(amount_kg_per_day); }
  static std::unique_ptr<Feeding> read(Section& section) {
    auto policy = std::make_unique<FreeAccess>();
    policy->amount_kg_per_day =
        section.number({.name = "amount", .unit = "kg/d", .low = 0, .high = 20, .help = "Most she gets."});
    return policy;
  }
};

struct FeedingEntry {
  std::string name;
  std::string help;
  std::unique_ptr<Feeding> (*read)(Section&);
};

inline std::vector<FeedingEntry> feeding_catalogue() {
  return {{"by_hand", "Meals at fixed times.", &ByHand::read},
          {"free_access", "She eats when she likes.", &FreeAccess::read}};
}

enum class Floor { slats, bedding };
constexpr auto names(Floor) {
  return std::to_array<Name<Floor>>({{Floor::slats, "slats"}, {Floor::bedding, "bedding"}});
}

struct Room {
  int crates = 0;
  double area_m2 = 0;
  static Room read(Section& section) {
    return {.crates = section.integer({.name = "crates", .low = 1, .high = 500, .help = "Crates in the room."}),
            .area_m2 = section.number(
                {.name = "area", .unit = "m2", .low = 1, .high = 5000, .default_value = 100, .help = "Floor area."})};
  }
};

struct Drinker {
  double flow_l_per_min = 0;
  std::vector<double> bouts_per_day;
  double gap_h = 0;
  int group = 0;
  static Drinker read(Section& section) {
    return {
        .flow_l_per_min = section.number({.name = "flow",
                                          .unit = "L/min",
                                          .low = 0.1,
                                          .high = 10,
                                          .help = "Flow when pressed.",
                                          .coefficient = "barn.water.flow"}),
        .bouts_per_day = section.numbers({.name = "bouts",
                                          .unit = "1/d",
                                          .low = 0,
                                          .high = 50,
                                          .min_items = 2,
                                          .max_items = 2,
                                          .help = "Visits by parity.",
                                          .coefficient = "barn.water.bouts"}),
        .gap_h = section.number({.name = "gap",
                                 .unit = "h",
                                 .low = 0,
                                 .high = 24,
                                 .help = "Between visits.",
                                 .coefficient = "barn.water.gap"}),
        .group = section.integer(
            {.name = "group", .low = 1, .high = 9, .help = "Piglets a nipple.", .coefficient = "barn.water.group"})};
  }
};

struct Barn {
  std::string title;
  double share = 0;
  double room_deg_c = 0;
  double band_k = 0;
  Duration delay;
  bool lit = false;
  Floor floor = Floor::slats;
  Duration start;
  std::chrono::year_month_day first_day;
  std::vector<int> sizes;
  std::vector<std::string> outputs;
  std::optional<double> fixed_weight_kg;
  std::unique_ptr<Feeding> feeding;
  Drinker drinker;
  std::vector<Room> rooms;
  std::vector<std::pair<std::string, Room>> stores;
  bool has_lamp = false;

  static Barn read(Section& section) {
    Barn barn;
    barn.title = section.string({.name = "title", .help = "What it is about."});
    barn.share =
        section.number({.name = "share", .low = 0, .high = 1, .default_value = 0.5, .help = "A part of the whole."});
    barn.room_deg_c = section.number({.name = "room",
                                      .unit = "degC",
                                      .low = 5,
                                      .high = 40,
                                      .default_value = 20,
                                      .help = "Air.",
                                      .source = "Author 2003",
                                      .grade = "C"});
    barn.band_k =
        section.number({.name = "band", .unit = "K", .low = 0, .high = 10, .default_value = 2, .help = "Dead band."});
    barn.delay = section.duration(
        {.name = "delay", .unit = "min", .low = 0, .high = 600, .default_value = 10, .help = "A wait."});
    barn.lit = section.boolean({.name = "lit", .default_value = true, .help = "Light at night."});
    barn.floor = section.choice<Floor>({.name = "floor", .default_value = "slats", .help = "What they lie on."});
    barn.start = section.time_of_day({.name = "start", .default_value = "06:30", .help = "Work begins."});
    barn.first_day = section.date({.name = "first_day", .default_value = "2024-07-01", .help = "The first day."});
    barn.sizes =
        section.integers({.name = "sizes", .low = 0, .high = 30, .default_value = {{12, 14}}, .help = "Litter sizes."});
    barn.outputs = section.strings(
        {.name = "outputs", .options = {"sows", "litters"}, .default_value = {{"sows"}}, .help = "Tables."});
    barn.fixed_weight_kg =
        section.optional_number({.name = "fixed_weight", .unit = "kg", .low = 0, .high = 500, .help = "Fixed."});
    Section feeding = section.section("feeding", "How she is fed.");
    barn.feeding =
        feeding.variants({.name = "kind", .default_value = "by_hand", .help = "The policy."}, feeding_catalogue());
    barn.drinker = section.read<Drinker>("drinker", "The drinker.");
    barn.rooms = section.read_list<Room>("rooms", "All rooms.");
    for (auto& [name, part] : section.named("stores", "Stores by name."))
      barn.stores.emplace_back(name, Room::read(part));
    if (std::optional<Section> lamp = section.optional_section("lamp", "A lamp.")) {
      lamp->number({.name = "power", .unit = "W", .low = 0, .high = 400, .help = "Electric power."});
      barn.has_lamp = true;
    }
    section.anything("alternatives", "What differs.");
    return barn;
  }
};

// Every key given, with comments, an anchor, and alternatives.
constexpr const char* full_text = R"(# A barn.
title: "north barn"
share: 30 %
room: 72 degF   # a temperature
band: 4 degF
delay: 1.5 h
lit: false
floor: bedding
start: "06:45"
first_day: 2023-02-28
sizes: [10, 12, 14]
outputs: [litters, sows]
fixed_weight: 440 lb
feeding: {kind: free_access, amount: 13 lb/d}
drinker:
  flow: 0.5 gal/min
  bouts: [3, 4]
  gap: 2
rooms:
  - &room {crates: 12, area: 1000 ft2}
  - *room
  - crates: 6
stores:
  hay: {crates: 1}
lamp: {power: 0.1 kW}
alternatives:
  cold: {room: 15 degC, rooms.0.crates: 10}
  by hand:
    feeding: {kind: by_hand, times: ["06:00", "12:00", "18:00"]}
)";

inline Barn read(const std::string& text) {
  return read_settings<Barn>(Document::from_text(text, "barn.yaml"), coefficients());
}

// The one-line mistakes of a text; empty where it reads.
inline std::vector<std::string> mistakes(const Document& document) {
  try {
    read_settings<Barn>(document, coefficients());
  } catch (const ScenarioError& error) {
    std::vector<std::string> lines;
    for (const Mistake& mistake : error.mistakes()) lines.push_back(one_line(mistake));
    return lines;
  }
  return {};
}

inline std::vector<std::string> mistakes(const std::string& text) {
  try {
    return mistakes(Document::from_text(text, "barn.yaml"));
  } catch (const ScenarioError& error) {
    std::vector<std::string> lines;
    for (const Mistake& mistake : error.mistakes()) lines.push_back(one_line(mistake));
    return lines;
  }
}

}  // namespace farrowtide::barn
