// The private extension module farrowtide._core; users import the package farrowtide, which wraps it.
#include "bindings/bind.hpp"

PYBIND11_MODULE(_core, module) {
  module.doc() = "The simulation engine. Private: use the package farrowtide.";
  farrowtide::bind_errors(module);
  farrowtide::bind_declaration(module);
  farrowtide::bind_reference(module);
  farrowtide::bind_views(module);
  farrowtide::bind_scenario(module);
  farrowtide::bind_records(module);
  farrowtide::bind_run(module);
  farrowtide::bind_equations(module);
  farrowtide::bind_fostering(module);
}
