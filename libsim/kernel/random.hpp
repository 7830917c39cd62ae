#pragma once

#include <array>
#include <cstdint>
#include <map>

namespace farrowtide {

/// The address of one draw: the same address gives the same number whatever else was drawn before.
struct StreamKey {
  std::uint64_t seed;          ///< of the study
  std::uint32_t replicate;     ///< which replication
  std::uint32_t entity;        ///< which animal, room or person
  std::uint32_t purpose;       ///< what the draw decides, below 4096
  std::uint32_t occasion = 0;  ///< which occurrence of the decision: a day, a birth, a meal
};

/// Random 32-bit words at one address, for any distribution that takes a UniformRandomBitGenerator.
/// Philox4x32-10 (Salmon, Moraes, Dror and Shaw 2011, SC11) with key = seed and counter =
/// {occasion, purpose << 20 | block, entity, replicate}; at most 4,194,304 words per address.
class Stream {
 public:
  using result_type = std::uint32_t;
  static constexpr result_type min() { return 0; }
  static constexpr result_type max() { return UINT32_MAX; }

  explicit Stream(StreamKey key);
  result_type operator()() {
    if (used_ == words_.size()) refill();
    return words_[used_++];
  }

 private:
  void refill();

  StreamKey key_;
  std::uint32_t block_ = 0;
  std::array<std::uint32_t, 4> words_{};
  std::size_t used_ = words_.size();
};

/// One stream for everything, like a single seeded generator: draws are numbered in the order in which they are first
/// requested, and an address keeps its number, so that a repeated draw gives the same value. For one replicate on one
/// thread. It exists to show what addresses are worth; the distributions are those of keyed draws.
class OneStream {
 public:
  /// The position in the stream of the number for this address; a new address takes the next position.
  StreamKey key(const StreamKey& address);

 private:
  std::map<std::array<std::uint32_t, 3>, std::uint32_t> places_;  // of entity, purpose, occasion
};

/// Uniform in the open interval (0, 1), from the first two words of the address; multiples of 2^-53.
double uniform(StreamKey key);

/// Standard normal.
double normal(StreamKey key);

/// Exponential with mean 1: -log(uniform), so that a hazard's threshold is one draw.
double exponential(StreamKey key);

/// exp of a normal with mean `log_mean` and standard deviation `log_sd`.
double lognormal(StreamKey key, double log_mean, double log_sd);

/// Triangular on [least, most] with its peak at `mode`, by inversion of one uniform; all three may be equal.
double triangular(StreamKey key, double least, double mode, double most);

}  // namespace farrowtide
