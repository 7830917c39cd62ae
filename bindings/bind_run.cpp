// Runs without the GIL; takes it back ten times a second for Ctrl-C and for telling how far it is.
#include <optional>

#include "bindings/bind.hpp"
#include "libsim/run/replications.hpp"

namespace farrowtide {
namespace py = pybind11;
namespace {

// What is told to Python while the engine runs, and what Python raised meanwhile.
class Watcher {
 public:
  explicit Watcher(py::object progress) : progress_(std::move(progress)) {}

  bool operator()(int done) {
    const py::gil_scoped_acquire gil;
    try {
      if (PyErr_CheckSignals() != 0) throw py::error_already_set();
      if (!progress_.is_none()) progress_(done);
      return true;
    } catch (py::error_already_set& error) {
      raised_ = error.value();
      return false;
    }
  }

  const py::object& raised() const { return raised_; }

 private:
  py::object progress_;
  py::object raised_ = py::none();
};

Recording recording_of(const std::vector<std::string>& tables) {
  const auto wanted = [&](const char* name) { return std::find(tables.begin(), tables.end(), name) != tables.end(); };
  return {.sow_days = wanted("sow_days"),
          .piglets = wanted("piglets"),
          .room_hours = wanted("rooms"),
          .tasks = wanted("tasks"),
          .events = wanted("events")};
}

// The result and what stopped it early (an exception) or None.
py::tuple run(const Scenario& scenario, int replications, int first_replicate, std::uint64_t seed, int threads,
              const std::vector<std::string>& tables, py::object progress, bool one_stream) {
  Watcher watcher{std::move(progress)};
  RunOptions options{.replications = replications,
                     .first_replicate = first_replicate,
                     .seed = seed,
                     .threads = threads,
                     .draws = one_stream ? DrawOrder::one_stream : DrawOrder::keyed,
                     .recording = recording_of(tables),
                     .progress = std::ref(watcher)};
  auto result = std::make_shared<RunResult>();
  {
    const py::gil_scoped_release release;
    *result = run_replications(scenario, options);
  }
  return py::make_tuple(result, watcher.raised());
}

}  // namespace

void bind_run(py::module_& module) {
  module.attr("results_version") = results_version;
  module.attr("engine_version") = FARROWTIDE_VERSION;
  module.attr("commit") = FARROWTIDE_COMMIT;
  module.def("run", &run, py::arg("scenario"), py::kw_only(), py::arg("replications"), py::arg("first_replicate"),
             py::arg("seed"), py::arg("threads"), py::arg("tables"), py::arg("progress") = py::none(),
             py::arg("one_stream") = false);
}

}  // namespace farrowtide
