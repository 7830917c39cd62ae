#include "bindings/own_policies.hpp"

#include <algorithm>

#include "bindings/own_policy_answers.hpp"
#include "bindings/own_policy_keys.hpp"
#include "libsim/kernel/errors.hpp"

namespace farrowtide {
namespace py = pybind11;
namespace {

// A Python object that may be copied and dropped without holding the GIL.
using Held = std::shared_ptr<const py::object>;

Held hold(py::object object) {
  return Held(new py::object(std::move(object)), [](const py::object* held) {
    const py::gil_scoped_acquire gil;
    delete held;
  });
}

// Marks this thread as one that runs a policy's code, for as long as it lives. The GIL guards the list.
class RunningPolicyCode {
 public:
  struct Place {
    unsigned long thread;
    const OwnRun* run;
    bool operator==(const Place&) const = default;
  };

  RunningPolicyCode() { places().push_back(here()); }
  ~RunningPolicyCode() { places().erase(std::ranges::find(places(), here())); }
  RunningPolicyCode(const RunningPolicyCode&) = delete;
  RunningPolicyCode& operator=(const RunningPolicyCode&) = delete;

  static std::vector<Place>& places() {
    static std::vector<Place> places;
    return places;
  }

 private:
  static Place here() { return {PyThread_get_thread_ident(), OwnRun::of_this_thread()}; }
};

class OwnPolicy {
 public:
  explicit OwnPolicy(py::object policy) : policy_(hold(std::move(policy))) {}

 protected:
  // What the method returns for the arguments, read by `read`. UserError with the class, the method and the line.
  template <class Read, class... Arguments>
  auto ask(const char* method, Read read, const Arguments&... arguments) const {
    const py::gil_scoped_acquire gil;
    const RunningPolicyCode here;
    try {
      const py::object given = policy_->attr(method)(arguments...);
      try {
        return read(given);
      } catch (const answer::Unfit& unfit) {
        throw UserError(message("unusable_answer", method, given, unfit.expected));
      }
    } catch (py::error_already_set& error) {
      if (error.matches(PyExc_KeyboardInterrupt)) throw StoppedByUser{};
      if (error.trace()) PyException_SetTraceback(error.value().ptr(), error.trace().ptr());  // for the line
      throw UserError(message("error_in", method, error.value()));
    }
  }
  std::string sentence() const {
    return ask("describe", [](const py::object& given) { return answer::cast<std::string>(given, false, "a text"); });
  }

 private:
  // The text of a function of farrowtide.scenarios.policies.errors about a method of this policy.
  template <class... Details>
  std::string message(const char* function, const char* method, const Details&... details) const {
    const py::module_ errors = py::module_::import("farrowtide.scenarios.policies.errors");
    return errors.attr(function)(*policy_, method, details...).template cast<std::string>();
  }

  Held policy_;
};

class OwnLoading final : public LoadingPolicy, OwnPolicy {
 public:
  explicit OwnLoading(py::object policy) : OwnPolicy(std::move(policy)) {}
  int days_before_due() const override { return days_before_due_; }
  GiltPlaces gilt_places() const override { return gilt_places_; }
  bool teach(const GiltView& view) const override { return ask("teach", answer::boolean, view); }
  std::string describe() const override { return sentence(); }

 private:
  int days_before_due_ = ask("days_before_due", answer::integer(0, 30));
  GiltPlaces gilt_places_ =
      ask("gilt_places",
          answer::one_of<GiltPlaces>({{"side_by_side", GiltPlaces::side_by_side}, {"spread", GiltPlaces::spread}}));
};

class OwnFeeding final : public FeedingPolicy, OwnPolicy {
 public:
  explicit OwnFeeding(py::object policy) : OwnPolicy(std::move(policy)) {}
  std::span<const Duration> rounds() const override { return rounds_; }
  std::span<const Duration> pre_farrow_rounds() const override { return pre_farrow_rounds_; }
  std::optional<FeedingDecision> decide(const FeedingView& view) const override {
    return ask("decide", answer::feed, view);
  }
  bool dropped_by_machine() const override { return dropped_by_machine_; }
  std::optional<Duration> machine_look_at() const override { return machine_look_at_; }
  bool checks_troughs() const override { return checks_troughs_; }
  std::optional<TroughDecision> at_trough_check(const TroughView& view) const override {
    return ask("at_trough_check", answer::or_none(answer::trough), view);
  }
  bool removes_stale_feed() const override { return removes_stale_feed_; }
  bool reads_feeders() const override { return reads_feeders_; }
  bool wet() const override { return wet_; }
  std::string describe() const override { return sentence(); }

 private:
  std::vector<Duration> rounds_ = ask("rounds", answer::clock_times);
  std::vector<Duration> pre_farrow_rounds_ = ask("pre_farrow_rounds", answer::clock_times);
  bool dropped_by_machine_ = ask("dropped_by_machine", answer::boolean);
  std::optional<Duration> machine_look_at_ = ask("machine_look_at", answer::or_none(answer::clock_time));
  bool checks_troughs_ = ask("checks_troughs", answer::boolean);
  bool removes_stale_feed_ = ask("removes_stale_feed", answer::boolean);
  bool reads_feeders_ = ask("reads_feeders", answer::boolean);
  bool wet_ = ask("wet", answer::boolean);
};

class OwnWater final : public WaterPolicy, OwnPolicy {
 public:
  explicit OwnWater(py::object policy) : OwnPolicy(std::move(policy)) {}
  bool check(const DrinkerView& view) const override { return ask("check_flow", answer::boolean, view); }
  double action_limit_l_per_min() const override { return action_limit_l_per_min_; }
  std::string describe() const override { return sentence(); }

 private:
  double action_limit_l_per_min_ = ask("action_limit_l_per_min", answer::number(0, 10, "L/min"));
};

class OwnTemperature final : public TemperaturePolicy, OwnPolicy {
 public:
  explicit OwnTemperature(py::object policy) : OwnPolicy(std::move(policy)) {}
  double set_point_deg_c(const TemperatureView& view) const override {
    return ask("set_point_deg_c", answer::number(lowest_set_point_deg_c, highest_set_point_deg_c, "degC"), view);
  }
  std::string describe() const override { return sentence(); }
};

class OwnAttendance final : public AttendancePolicy, OwnPolicy {
 public:
  explicit OwnAttendance(py::object policy) : OwnPolicy(std::move(policy)) {}
  std::optional<Duration> round_every() const override { return round_every_; }
  bool look_at(const LabourView& view) const override { return ask("look_at", answer::boolean, view); }
  bool help(const LabourView& view) const override { return ask("help_birth", answer::boolean, view); }
  int night_people() const override { return night_people_; }
  double care_intensity() const override { return care_intensity_; }
  std::string describe() const override { return sentence(); }

 private:
  std::optional<Duration> round_every_ = ask("round_every_min", answer::or_none([](const py::object& given) {
                                               return Duration::from_minutes(answer::number(1, 24 * 60, "min")(given));
                                             }));
  int night_people_ = ask("night_people", answer::integer(0, 20));
  double care_intensity_ = ask("care_intensity", answer::number(0, 1, "-"));
};

class OwnCare final : public CarePolicy, OwnPolicy {
 public:
  explicit OwnCare(py::object policy) : OwnPolicy(std::move(policy)) {}
  std::optional<Duration> temperature_after(const CareView& view) const override {
    return ask("temperature_after_h", answer::or_none(answer::duration(Duration::from_hours, 30 * 24, "h")), view);
  }
  std::optional<double> alarm_deg_c() const override { return alarm_deg_c_; }
  SignSet look_for(const CareView& view) const override { return ask("look_for", answer::signs, view); }
  bool treat(const CareView& view) const override { return ask("treat", answer::boolean, view); }
  std::span<const Duration> stand_up_rounds() const override { return stand_up_rounds_; }
  bool stands_up(const CareView& view) const override { return ask("stands_up", answer::boolean, view); }
  bool wean_today(const CareView& view) const override { return ask("wean_today", answer::boolean, view); }
  std::string describe() const override { return sentence(); }

 private:
  std::optional<double> alarm_deg_c_ = ask("alarm_deg_c", answer::or_none(answer::number(38, 42, "degC")));
  std::vector<Duration> stand_up_rounds_ = ask("stand_up_rounds", answer::clock_times);
};

class OwnFostering final : public FosteringPolicy, OwnPolicy {
 public:
  explicit OwnFostering(py::object policy) : OwnPolicy(std::move(policy)) {}
  std::span<const Duration> times() const override { return times_; }
  FosteringPlan plan(const FosteringView& view) const override {
    FosteringPlan plan;
    plan.moves = ask(
        "plan", [&view](const py::object& given) { return answer::moves_in(view, given); }, view);
    for (const LitterView& litter : view.litters) {
      plan.surplus_piglets += std::max(0, litter.nursing - litter.teats);
      plan.free_teats += std::max(0, litter.teats - litter.nursing);
    }
    return plan;
  }
  int nurse_sows() const override { return nurse_sows_; }
  std::string describe() const override { return sentence(); }

 private:
  std::vector<Duration> times_ = ask("times", answer::clock_times);
  int nurse_sows_ = ask("nurse_sows", answer::integer(0, 100));
};

class OwnHandling final : public HandlingPolicy, OwnPolicy {
 public:
  explicit OwnHandling(py::object policy) : OwnPolicy(std::move(policy)) {}
  double share_of_processing(const HandlingView& view) const override {
    return ask("share_of_processing", answer::number(0, 1, "-"), view);
  }
  std::string describe() const override { return sentence(); }
};

std::string text_of(const py::object& holder, const char* name) { return holder.attr(name).cast<std::string>(); }

template <class Own, class Policy>
void add(std::vector<CatalogueEntry<Policy>>& catalogue, const py::object& policy_class) {
  const std::string name = text_of(policy_class, "name");
  for (const CatalogueEntry<Policy>& entry : catalogue) {
    if (entry.name == name)
      throw UserError(text_of(policy_class, "family") + " already has a policy called '" + name +
                      "': choose another name");
  }
  catalogue.push_back({name, text_of(policy_class, "help"),
                       [held = hold(policy_class)](Section& section) -> std::shared_ptr<const Policy> {
                         return std::make_shared<Own>(read_policy(*held, section));
                       }});
}

}  // namespace

const OwnRun*& OwnRun::of_this_thread() {
  thread_local const OwnRun* run = nullptr;
  return run;
}

void stop_policy_code(const OwnRun& run) {
  for (const RunningPolicyCode::Place& place : RunningPolicyCode::places()) {
    if (place.run == &run) PyThreadState_SetAsyncExc(place.thread, PyExc_KeyboardInterrupt);
  }
}

PolicyCatalogues catalogues_with(const std::vector<py::object>& own_policies) {
  PolicyCatalogues all = PolicyCatalogues::built_in();
  for (const py::object& policy_class : own_policies) {
    const std::string family = text_of(policy_class, "family");
    if (family == "loading") add<OwnLoading>(all.loading, policy_class);
    if (family == "feeding") add<OwnFeeding>(all.feeding, policy_class);
    if (family == "water") add<OwnWater>(all.water, policy_class);
    if (family == "temperature") add<OwnTemperature>(all.temperature, policy_class);
    if (family == "attendance") add<OwnAttendance>(all.attendance, policy_class);
    if (family == "care") add<OwnCare>(all.care, policy_class);
    if (family == "fostering") add<OwnFostering>(all.fostering, policy_class);
    if (family == "handling") add<OwnHandling>(all.handling, policy_class);
  }
  return all;
}

}  // namespace farrowtide
