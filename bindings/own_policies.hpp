// Policies that a user wrote in Python, beside the built-in ones.
#pragma once

#include <vector>

#include "bindings/bind.hpp"
#include "libsim/policy/catalogues.hpp"

namespace farrowtide {

// The built-in catalogues and these classes, checked by farrowtide.policies. UserError where a name is taken.
PolicyCatalogues catalogues_with(const std::vector<pybind11::object>& own_policies);

// Of their names in Python.
SignSet signs_from(const pybind11::handle& names);

}  // namespace farrowtide
