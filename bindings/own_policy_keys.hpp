// The keys of a user's policy class in a scenario.
#pragma once

#include <pybind11/pybind11.h>

#include "libsim/scenario/section.hpp"

namespace farrowtide {

// A policy of the class with its values from the scenario; a refusal by its own `check` is a mistake of the scenario.
pybind11::object read_policy(const pybind11::object& policy_class, Section& section);

}  // namespace farrowtide
