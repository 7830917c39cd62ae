// An event as a sentence of the trace, which can be followed by hand.
#pragma once

#include <string>

#include "libsim/record/rows.hpp"

namespace farrowtide {

// "day 4 07:12:05  sow 2: piglet 3 is born, 1.41 kg, 14 min after the previous birth"
std::string in_words(const EventRow& event);

}  // namespace farrowtide
