// Policies that a user wrote in Python, in addition to the built-in ones.
#pragma once

#include <vector>

#include "bindings/bind.hpp"
#include "libsim/policy/catalogues.hpp"

namespace farrowtide {

// The built-in catalogues and these classes, checked by farrowtide.policies. UserError if a name is taken.
PolicyCatalogues catalogues_with(const std::vector<pybind11::object>& own_policies);

// Raises KeyboardInterrupt in every thread that is running the code of such a policy, at its next line. Needs the GIL.
void stop_policy_code();

// Signs from their names in Python.
SignSet signs_from(const pybind11::handle& names);

}  // namespace farrowtide
