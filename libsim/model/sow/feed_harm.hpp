#pragma once

#include "libsim/scenario/coefficients.hpp"

namespace farrowtide {

/// How much a large amount of feed before farrowing harms a sow of her condition: not a thin one, a fat one most.
/// Equation:
///   fat [-] = clip((P2 - feed_harm_from) / (feed_harm_reference - feed_harm_from), 0, feed_harm_most)
/// Where: P2 [mm] backfat at farrowing; fat is 1 at feed_harm_reference
/// Valid: P2 of 8-28 mm
/// Source: direction Cools et al. 2014 (free access before farrowing: no harm, but lighter piglets of sows above 22
///   mm); sizes assumed
class FeedHarm {
 public:
  explicit FeedHarm(const Coefficients& coefficients);
  double operator()(double backfat_p2_mm) const;

 private:
  double from_mm_, reference_mm_, most_;
};

}  // namespace farrowtide
