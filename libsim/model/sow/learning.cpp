#include "libsim/model/sow/learning.hpp"

namespace farrowtide {

Learning::Learning(const Coefficients& coefficients)
    : knows_drinker_(coefficients.number("sow.learning.knows_drinker_at_loading", "-")),
      knows_feeder_(coefficients.number("sow.learning.knows_new_feeder_at_loading", "-")),
      alone_per_day_(coefficients.number("sow.learning.learning_rate_alone", "1/d")),
      trained_per_day_(coefficients.number("sow.learning.learning_rate_trained", "1/d")),
      access_until_learned_(coefficients.number("sow.learning.access_until_learned", "-")) {}

}  // namespace farrowtide
