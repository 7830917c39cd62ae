// Runs without the GIL; takes it ten times a second to check for Ctrl-C and to report progress.
#include <optional>

#include "bindings/bind.hpp"
#include "bindings/own_policies.hpp"
#include "libsim/run/replications.hpp"

namespace farrowtide {
namespace py = pybind11;
namespace {

// Reports progress to Python during a run, and keeps what Python raised.
class Watcher {
 public:
  Watcher(const OwnRun& run, py::object progress) : run_(run), progress_(std::move(progress)) {}

  bool operator()(int done) {
    const py::gil_scoped_acquire gil;
    try {
      if (PyErr_CheckSignals() != 0) throw py::error_already_set();
      if (!progress_.is_none()) progress_(done);
      return true;
    } catch (py::error_already_set& error) {
      raised_ = error.value();
      stop_policy_code(run_);
      return false;
    }
  }

  const py::object& raised() const { return raised_; }

 private:
  const OwnRun& run_;
  py::object progress_;
  py::object raised_ = py::none();
};

Recording recording_of(const std::vector<std::string>& tables) {
  const auto wanted = [&](const char* name) { return std::find(tables.begin(), tables.end(), name) != tables.end(); };
  return {.sow_days = wanted("sow_days"),
          .piglets = wanted("piglets"),
          .room_hours = wanted("rooms"),
          .tasks = wanted("tasks"),
          .events = wanted("events"),
          .causes = wanted("visits")};
}

// A run that is called on this thread; UserError where policies call runs of policies that call runs without end.
OwnRun begun_here() {
  constexpr int deepest = 4;
  const OwnRun* outer = OwnRun::of_this_thread();
  if (outer == nullptr) return {};
  if (outer->depth == deepest) {
    throw UserError("a run was begun by a policy inside " + std::to_string(deepest) +
                    " other runs, each begun by a policy of the one before; a policy must not begin the run it is in");
  }
  return {.depth = outer->depth + 1};
}

// The result, and the exception that stopped the run early or None.
py::tuple run(const Scenario& scenario, int replications, int first_replicate, std::uint64_t seed, int threads,
              const std::vector<std::string>& tables, py::object progress, bool one_stream) {
  const OwnRun run = begun_here();
  Watcher watcher{run, std::move(progress)};
  RunOptions options{.replications = replications,
                     .first_replicate = first_replicate,
                     .seed = seed,
                     .threads = threads,
                     .draws = one_stream ? DrawOrder::one_stream : DrawOrder::keyed,
                     .recording = recording_of(tables),
                     .progress = std::ref(watcher),
                     .thread_begins = [&run] { OwnRun::of_this_thread() = &run; }};
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
  module.def(
      "run", &run, py::arg("scenario"), py::kw_only(), py::arg("replications"), py::arg("first_replicate"),
      py::arg("seed"), py::arg("threads"), py::arg("tables"), py::arg("progress") = py::none(),
      py::arg("one_stream") = false,
      "Runs a scenario. Returns the complete replications and the exception that stopped the run early, or None. "
      "0 threads: as many as there are processors. `one_stream` draws all random numbers from one generator, only "
      "to measure the gain from random numbers with addresses.");
}

}  // namespace farrowtide
