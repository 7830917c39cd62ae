#include "libsim/model/sow/feed_harm.hpp"

#include <algorithm>

namespace farrowtide {

FeedHarm::FeedHarm(const Coefficients& coefficients)
    : from_mm_(coefficients.number("sow.pre_farrow.feed_harm_from", "mm")),
      reference_mm_(coefficients.number("sow.pre_farrow.feed_harm_reference", "mm")),
      most_(coefficients.number("sow.pre_farrow.feed_harm_most", "-")) {}

double FeedHarm::operator()(double backfat_p2_mm) const {
  return std::clamp((backfat_p2_mm - from_mm_) / (reference_mm_ - from_mm_), 0.0, most_);
}

}  // namespace farrowtide
