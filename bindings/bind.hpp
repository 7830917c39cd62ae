// One function per area of the extension module; `module.cpp` calls them in this order.
#pragma once

#include <pybind11/pybind11.h>
#include <pybind11/stl.h>

namespace farrowtide {

void bind_errors(pybind11::module_& module);
void bind_declaration(pybind11::module_& module);
void bind_reference(pybind11::module_& module);
void bind_views(pybind11::module_& module);
void bind_scenario(pybind11::module_& module);
void bind_records(pybind11::module_& module);
void bind_run(pybind11::module_& module);
void bind_equations(pybind11::module_& module);
void bind_fostering(pybind11::module_& module);

}  // namespace farrowtide
