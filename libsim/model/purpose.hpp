// The purpose of each random draw. Append only: renumbering a purpose changes the results for a given seed.
#pragma once

#include <cstdint>

#include "libsim/kernel/names.hpp"
#include "libsim/kernel/random.hpp"

namespace farrowtide {

enum class Purpose : std::uint32_t {
  // a sow
  parity = 0,
  weight_after_farrowing = 1,
  backfat = 2,
  total_born = 3,
  functional_teats = 4,
  sow_effects = 5,  // occasion: index of the effect, 0-3
  constipation = 6,
  gestation_of_sow = 7,
  gestation_of_farrowing = 8,
  service_day = 9,
  onset_hour = 10,
  induction = 11,
  leg_trouble = 12,
  drinker_flow = 13,
  knows_drinker = 14,
  knows_feeder = 15,
  learning = 16,              // occasion: item to be learned
  drinker_partly_clogs = 17,  // occasion: number of repairs so far
  drinker_clogs = 18,
  unsteady_appetite = 19,
  // her labour; occasion: birth rank, spell or exam
  birth_interval = 20,
  inertia_threshold = 21,
  inertia_duration = 22,
  exam_succeeds = 23,
  stillbirth_of_litter = 24,
  placenta_expelled = 25,
  placenta_retained = 26,
  // a piglet
  stillborn = 30,
  died_before_labour = 31,
  revived = 32,
  litter_birth_weight = 33,  // of the sow
  birth_weight = 34,
  sex = 35,
  splay_legged = 36,
  colostrum_share = 37,
  teat = 38,
  runt = 39,
  birth_weight_spread = 92,  // of the sow
  // survival
  birth_frailty = 40,
  rearing_frailty = 41,
  middle_frailty = 42,
  late_frailty = 43,
  threshold_crushed = 44,
  threshold_starved = 45,
  threshold_scours = 46,
  threshold_other = 47,
  litter_scours = 48,  // of the sow
  scours_attack = 49,  // of a piglet
  // lactation; occasion: day or meal
  colostrum_yield = 50,
  appetite_noise = 51,
  meal_threshold = 52,
  litter_start = 53,
  bad_start = 54,
  oestrus = 55,
  creep_feed_of_litter = 56,
  creep_feed_eater = 57,
  milk_drops = 58,          // occasion: day
  eats_when_stood_up = 59,  // occasion: times made to stand
  // health; occasion: day
  disorder = 70,
  disorder_onset = 71,
  disorder_severity = 72,
  recovery = 73,
  rectal_temperature_of_sow = 74,
  rectal_temperature = 75,
  sign_nursing = 76,
  sign_not_eaten = 77,
  sign_udder = 78,
  sign_legs = 79,
  sow_death = 80,
  prolapse = 81,
  handling_length = 82,
  scours_length = 83,
  litter_refused = 84,  // occasion: day
  disease_moves = 85,   // of a piglet; occasion: number of moves so far
  cause_of_sow_death = 86,
  false_sign = 87,  // occasion: the sign
  eaten_seen = 88,  // occasion: day
  drunk_seen = 89,  // occasion: day
  leg_recovery = 90,
  // the room; occasion: hour
  outdoor = 60,
  absence = 62,          // of one person on a shift; occasion: day
  done_as_written = 63,  // entity: sow or room x 32 + task kind; occasion: day and time of day
  // staff: task_time + number of the task kind; occasion: day and time of day
  task_time = 100,
};
constexpr auto names(Purpose) { return names_by_identifier<Purpose, 128>(); }

// The random draws of one replicate.
struct Draws {
  std::uint64_t seed = 1;
  std::uint32_t replicate = 0;
  OneStream* one_stream = nullptr;  // if set, draws are numbered in the order they are made; must outlive its users

  StreamKey key(Purpose purpose, std::uint32_t entity, std::uint32_t occasion = 0) const {
    const StreamKey address{seed, replicate, entity, static_cast<std::uint32_t>(purpose), occasion};
    return one_stream == nullptr ? address : one_stream->key(address);
  }
  double uniform(Purpose purpose, std::uint32_t entity, std::uint32_t occasion = 0) const {
    return farrowtide::uniform(key(purpose, entity, occasion));
  }
  double normal(Purpose purpose, std::uint32_t entity, std::uint32_t occasion = 0) const {
    return farrowtide::normal(key(purpose, entity, occasion));
  }
  double exponential(Purpose purpose, std::uint32_t entity, std::uint32_t occasion = 0) const {
    return farrowtide::exponential(key(purpose, entity, occasion));
  }
};

// Entities: 0 is the room, a sow is her number from 1, a piglet is its dam and birth rank, even if it is fostered.
constexpr std::uint32_t room_entity = 0;
constexpr std::uint32_t piglet_entity(int dam, int birth_rank) {
  return static_cast<std::uint32_t>(dam) * 64 + static_cast<std::uint32_t>(birth_rank);
}

}  // namespace farrowtide
