// Policies that a user wrote in Python, in addition to the built-in ones.
#pragma once

#include <vector>

#include "bindings/bind.hpp"
#include "libsim/policy/catalogues.hpp"

namespace farrowtide {

// The built-in catalogues and these classes, checked by farrowtide.policies. UserError if a name is taken.
PolicyCatalogues catalogues_with(const std::vector<pybind11::object>& own_policies);

// A run, as its threads know it: only its own are stopped with it, and a policy may simulate, but not without end.
struct OwnRun {
  int depth = 0;  // runs that it is inside of, each called by a policy of the one before

  // The run that this thread belongs to; nullptr: none.
  static const OwnRun*& of_this_thread();
};

// Raises KeyboardInterrupt in every thread of the run that is in the code of such a policy, at its next line. Needs the
// GIL.
void stop_policy_code(const OwnRun& run);

// Signs from their names in Python.
SignSet signs_from(const pybind11::handle& names);

}  // namespace farrowtide
