#include "libsim/kernel/random.hpp"

#include <Random123/philox.h>

#include <boost/random/normal_distribution.hpp>
#include <cmath>
#include <string>

#include "libsim/kernel/errors.hpp"

namespace farrowtide {
namespace {

constexpr std::uint32_t block_bits = 20;
constexpr std::uint32_t purposes = 1U << (32 - block_bits);

std::array<std::uint32_t, 4> philox(const StreamKey& key, std::uint32_t block) {
  const r123::Philox4x32::ctr_type counter{
      {key.occasion, key.purpose << block_bits | block, key.entity, key.replicate}};
  const r123::Philox4x32::key_type seed{
      {static_cast<std::uint32_t>(key.seed), static_cast<std::uint32_t>(key.seed >> 32U)}};
  const auto words = r123::Philox4x32{}(counter, seed);
  return {words[0], words[1], words[2], words[3]};
}

void check(const StreamKey& key) {
  if (key.purpose >= purposes) {
    throw InternalError("draw purpose " + std::to_string(key.purpose) + " is not below " + std::to_string(purposes));
  }
}

}  // namespace

Stream::Stream(StreamKey key) : key_{key} { check(key_); }

void Stream::refill() {
  if (block_ == 1U << block_bits) throw InternalError("a random stream was read past its last word");
  words_ = philox(key_, block_++);
  used_ = 0;
}

StreamKey OneStream::key(const StreamKey& address) {
  check(address);
  const auto next = static_cast<std::uint32_t>(places_.size());
  const auto found = places_.try_emplace({address.entity, address.purpose, address.occasion}, next).first;
  constexpr std::uint32_t in_order = purposes - 1;
  return {address.seed, address.replicate, found->second, in_order};
}

double uniform(StreamKey key) {
  check(key);
  const auto words = philox(key, 0);
  const std::uint64_t bits = (std::uint64_t{words[0]} << 32U | words[1]) >> 12U;
  return (static_cast<double>(bits) + 0.5) * 0x1p-52;  // half a step away from both ends
}

double normal(StreamKey key) {
  Stream stream{key};
  return boost::random::normal_distribution<double>{}(stream);
}

double exponential(StreamKey key) { return -std::log(uniform(key)); }

double lognormal(StreamKey key, double log_mean, double log_sd) { return std::exp(log_mean + log_sd * normal(key)); }

double triangular(StreamKey key, double least, double mode, double most) {
  if (!(least <= mode && mode <= most)) throw InternalError("a triangular draw needs least <= mode <= most");
  const double u = uniform(key);
  const double width = most - least;
  return u * width < mode - least ? least + std::sqrt(u * width * (mode - least))
                                  : most - std::sqrt((1 - u) * width * (most - mode));
}

}  // namespace farrowtide
