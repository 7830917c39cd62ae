#include "bindings/own_policies.hpp"

#include <algorithm>
#include <type_traits>

#include "libsim/kernel/errors.hpp"
#include "libsim/policy/feeding/allowance.hpp"
#include "libsim/scenario/scalar.hpp"

namespace farrowtide {
namespace py = pybind11;
namespace {

// What a method returned cannot be used.
struct Unfit {
  std::string expected;
};

// --- Reading what a method returned ---

template <class Value>
Value cast(const py::object& given, bool convert, const std::string& expected) {
  py::detail::make_caster<Value> caster;
  if (!caster.load(given, convert)) {
    PyErr_Clear();
    throw Unfit{expected};
  }
  return py::detail::cast_op<Value>(caster);
}

// Strict, so that a method without a `return` is reported.
bool boolean(const py::object& given) { return cast<bool>(given, false, "True or False"); }

auto number(double low, double high, const char* unit) {
  return [=](const py::object& given) {
    const std::string expected = "a number, " + range_text(low, high, unit);
    if (py::isinstance<py::bool_>(given)) throw Unfit{expected};
    const auto value = cast<double>(given, true, expected);
    if (!(low <= value && value <= high)) throw Unfit{expected};
    return value;
  };
}

auto integer(int low, int high) {
  return [=](const py::object& given) {
    const std::string expected = "a whole number, " + range_text(low, high, "");
    const int value = cast<int>(given, false, expected);
    if (value < low || high < value) throw Unfit{expected};
    return value;
  };
}

template <class Value>
auto one_of(std::vector<std::pair<std::string, Value>> options) {
  return [options = std::move(options)](const py::object& given) {
    std::vector<std::string> names;
    for (const auto& [name, value] : options) {
      if (py::isinstance<py::str>(given) && given.cast<std::string>() == name) return value;
      names.push_back("'" + name + "'");
    }
    throw Unfit{joined(names, " or ")};
  };
}

template <class Read>
auto or_none(Read read) {
  using Value = std::invoke_result_t<Read, const py::object&>;
  return [read](const py::object& given) -> std::optional<Value> {
    if (given.is_none()) return std::nullopt;
    try {
      return read(given);
    } catch (Unfit& unfit) {
      throw Unfit{unfit.expected + ", or None"};
    }
  };
}

// A text such as "07:00", or hours since midnight.
Duration clock_time(const py::object& given) {
  const std::string expected =
      "a clock time: a text such as \"07:00\", or hours since midnight, at least 0 and less than 24";
  if (py::isinstance<py::str>(given)) {
    Node text;
    text.kind = Node::Kind::scalar;
    text.text = given.cast<std::string>();
    text.quoted = true;
    const auto time = parse_time_of_day(text);
    return time.value ? *time.value : throw Unfit{expected};
  }
  const Duration time = Duration::from_hours(cast<double>(given, true, expected));
  return 0_s <= time && time < 1_d ? time : throw Unfit{expected};
}

std::vector<Duration> clock_times(const py::object& given) {
  const char* expected = "rising clock times: a list of texts such as \"07:00\" or of hours since midnight";
  if (py::isinstance<py::str>(given) || !py::isinstance<py::iterable>(given)) throw Unfit{expected};
  std::vector<Duration> times;
  for (const py::handle item : given) times.push_back(clock_time(py::reinterpret_borrow<py::object>(item)));
  if (std::ranges::adjacent_find(times, std::greater_equal{}) != times.end()) throw Unfit{expected};
  return times;
}

auto duration(Duration (*from)(double), double high, const char* unit) {
  return [=](const py::object& given) { return from(number(0, high, unit)(given)); };
}

std::optional<FeedingDecision> feed(const py::object& given) {
  if (given.is_none()) return std::nullopt;
  if (py::isinstance<py::str>(given) && given.cast<std::string>() == "full")
    return FeedingDecision{FeedAccess::full, 0};
  try {
    return FeedingDecision{FeedAccess::by_hand, number(0, max_feed_kg_per_day, "kg")(given)};
  } catch (Unfit& unfit) {
    throw Unfit{unfit.expected + "; 'full' for feed always available; or None"};
  }
}

TroughDecision trough(const py::object& given) { return cast<TroughDecision>(given, false, "a TroughDecision"); }

SignSet signs(const py::object& given) {
  const char* expected = "a set of signs: temperature, nursing, not_eaten, udder, legs";
  if (py::isinstance<py::str>(given) || !py::isinstance<py::iterable>(given)) throw Unfit{expected};
  try {
    return signs_from(given);
  } catch (const UserError&) {
    throw Unfit{expected};
  }
}

// Moves that are possible: valid indices, each piglet once and not to its own litter.
std::vector<FosterMove> moves_in(const FosteringView& view, const py::object& given) {
  const char* expected = "pairs (index in view.piglets, index of another litter in view.litters), each piglet once";
  if (!py::isinstance<py::iterable>(given)) throw Unfit{expected};
  const auto piglets = static_cast<int>(view.piglets.size()), litters = static_cast<int>(view.litters.size());
  std::vector<bool> moved(view.piglets.size());
  std::vector<FosterMove> moves;
  for (const py::handle item : given) {
    const auto [piglet, to] = cast<std::pair<int, int>>(py::reinterpret_borrow<py::object>(item), false, expected);
    if (piglet < 0 || piglets <= piglet || to < 0 || litters <= to) throw Unfit{expected};
    const auto place = static_cast<std::size_t>(piglet);
    if (moved[place] || view.piglets[place].litter == to) throw Unfit{expected};
    moved[place] = true;
    moves.push_back({.piglet = piglet, .to = to});
  }
  return moves;
}

// --- Asking ---

// A Python object that may be copied and dropped without holding the GIL.
using Held = std::shared_ptr<const py::object>;

Held hold(py::object object) {
  return Held(new py::object(std::move(object)), [](const py::object* held) {
    const py::gil_scoped_acquire gil;
    delete held;
  });
}

class OwnPolicy {
 public:
  explicit OwnPolicy(py::object policy) : policy_(hold(std::move(policy))) {}

 protected:
  // What the method returns for the arguments, read by `read`. UserError with the class, the method and the line.
  template <class Read, class... Arguments>
  auto ask(const char* method, Read read, const Arguments&... arguments) const {
    const py::gil_scoped_acquire gil;
    try {
      const py::object given = policy_->attr(method)(arguments...);
      try {
        return read(given);
      } catch (const Unfit& unfit) {
        throw UserError(message("unusable_answer", method, given, unfit.expected));
      }
    } catch (py::error_already_set& error) {
      if (error.trace()) PyException_SetTraceback(error.value().ptr(), error.trace().ptr());  // for the line
      throw UserError(message("error_in", method, error.value()));
    }
  }
  std::string sentence() const {
    return ask("describe", [](const py::object& given) { return cast<std::string>(given, false, "a text"); });
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
  bool teach(const GiltView& view) const override { return ask("teach", boolean, view); }
  std::string describe() const override { return sentence(); }

 private:
  int days_before_due_ = ask("days_before_due", integer(0, 30));
  GiltPlaces gilt_places_ = ask(
      "gilt_places", one_of<GiltPlaces>({{"side_by_side", GiltPlaces::side_by_side}, {"spread", GiltPlaces::spread}}));
};

class OwnFeeding final : public FeedingPolicy, OwnPolicy {
 public:
  explicit OwnFeeding(py::object policy) : OwnPolicy(std::move(policy)) {}
  std::span<const Duration> rounds() const override { return rounds_; }
  std::span<const Duration> pre_farrow_rounds() const override { return pre_farrow_rounds_; }
  std::optional<FeedingDecision> decide(const FeedingView& view) const override { return ask("decide", feed, view); }
  bool dropped_by_machine() const override { return dropped_by_machine_; }
  std::optional<Duration> machine_look_at() const override { return machine_look_at_; }
  bool checks_troughs() const override { return checks_troughs_; }
  std::optional<TroughDecision> at_trough_check(const TroughView& view) const override {
    return ask("at_trough_check", or_none(trough), view);
  }
  bool wet() const override { return wet_; }
  std::string describe() const override { return sentence(); }

 private:
  std::vector<Duration> rounds_ = ask("rounds", clock_times);
  std::vector<Duration> pre_farrow_rounds_ = ask("pre_farrow_rounds", clock_times);
  bool dropped_by_machine_ = ask("dropped_by_machine", boolean);
  std::optional<Duration> machine_look_at_ = ask("machine_look_at", or_none(clock_time));
  bool checks_troughs_ = ask("checks_troughs", boolean);
  bool wet_ = ask("wet", boolean);
};

class OwnWater final : public WaterPolicy, OwnPolicy {
 public:
  explicit OwnWater(py::object policy) : OwnPolicy(std::move(policy)) {}
  bool check(const DrinkerView& view) const override { return ask("check_flow", boolean, view); }
  double action_limit_l_per_min() const override { return action_limit_l_per_min_; }
  std::string describe() const override { return sentence(); }

 private:
  double action_limit_l_per_min_ = ask("action_limit_l_per_min", number(0, 10, "L/min"));
};

class OwnTemperature final : public TemperaturePolicy, OwnPolicy {
 public:
  explicit OwnTemperature(py::object policy) : OwnPolicy(std::move(policy)) {}
  double set_point_deg_c(const TemperatureView& view) const override {
    return ask("set_point_deg_c", number(lowest_set_point_deg_c, highest_set_point_deg_c, "degC"), view);
  }
  std::string describe() const override { return sentence(); }
};

class OwnAttendance final : public AttendancePolicy, OwnPolicy {
 public:
  explicit OwnAttendance(py::object policy) : OwnPolicy(std::move(policy)) {}
  std::optional<Duration> round_every() const override { return round_every_; }
  bool look_at(const LabourView& view) const override { return ask("look_at", boolean, view); }
  bool help(const LabourView& view) const override { return ask("help_birth", boolean, view); }
  int night_people() const override { return night_people_; }
  double care_intensity() const override { return care_intensity_; }
  std::string describe() const override { return sentence(); }

 private:
  std::optional<Duration> round_every_ =
      ask("round_every_min",
          or_none([](const py::object& given) { return Duration::from_minutes(number(1, 24 * 60, "min")(given)); }));
  int night_people_ = ask("night_people", integer(0, 20));
  double care_intensity_ = ask("care_intensity", number(0, 1, "-"));
};

class OwnCare final : public CarePolicy, OwnPolicy {
 public:
  explicit OwnCare(py::object policy) : OwnPolicy(std::move(policy)) {}
  std::optional<Duration> temperature_after(const CareView& view) const override {
    return ask("temperature_after_h", or_none(duration(Duration::from_hours, 30 * 24, "h")), view);
  }
  SignSet look_for(const CareView& view) const override { return ask("look_for", signs, view); }
  bool treat(const CareView& view) const override { return ask("treat", boolean, view); }
  std::span<const Duration> stand_up_rounds() const override { return stand_up_rounds_; }
  bool wean_today(const CareView& view) const override { return ask("wean_today", boolean, view); }
  std::string describe() const override { return sentence(); }

 private:
  std::vector<Duration> stand_up_rounds_ = ask("stand_up_rounds", clock_times);
};

class OwnFostering final : public FosteringPolicy, OwnPolicy {
 public:
  explicit OwnFostering(py::object policy) : OwnPolicy(std::move(policy)) {}
  std::span<const Duration> times() const override { return times_; }
  FosteringPlan plan(const FosteringView& view) const override {
    FosteringPlan plan;
    plan.moves = ask(
        "plan", [&view](const py::object& given) { return moves_in(view, given); }, view);
    for (const LitterView& litter : view.litters) {
      plan.surplus_piglets += std::max(0, litter.nursing - litter.teats);
      plan.free_teats += std::max(0, litter.teats - litter.nursing);
    }
    return plan;
  }
  int nurse_sows() const override { return nurse_sows_; }
  std::string describe() const override { return sentence(); }

 private:
  std::vector<Duration> times_ = ask("times", clock_times);
  int nurse_sows_ = ask("nurse_sows", integer(0, 100));
};

class OwnHandling final : public HandlingPolicy, OwnPolicy {
 public:
  explicit OwnHandling(py::object policy) : OwnPolicy(std::move(policy)) {}
  double share_of_processing(const HandlingView& view) const override {
    return ask("share_of_processing", number(0, 1, "-"), view);
  }
  std::string describe() const override { return sentence(); }
};

// --- Reading a class's keys in a scenario ---

std::string text_of(const py::object& holder, const char* name) { return holder.attr(name).cast<std::string>(); }

template <class Value>
std::optional<Value> if_given(const py::object& holder, const char* name) {
  return holder.attr(name).cast<std::optional<Value>>();
}

std::vector<double> hours_of(const std::vector<Duration>& times) {
  std::vector<double> hours;
  for (const Duration time : times) hours.push_back(time.hours());
  return hours;
}

// One parameter, by the kind that farrowtide.policies gave it.
py::object read_parameter(Section& section, const std::string& name, const py::object& parameter) {
  const std::string kind = text_of(parameter, "kind"), help = text_of(parameter, "help");
  if (kind == "number")
    return py::cast(section.number({.name = name,
                                    .unit = text_of(parameter, "unit"),
                                    .low = if_given<double>(parameter, "low").value_or(-unbounded),
                                    .high = if_given<double>(parameter, "high").value_or(unbounded),
                                    .default_value = if_given<double>(parameter, "default"),
                                    .help = help,
                                    .coefficient = text_of(parameter, "coefficient")}));
  if (kind == "integer")
    return py::cast(section.integer({.name = name,
                                     .low = if_given<int>(parameter, "low").value_or(std::numeric_limits<int>::min()),
                                     .high = if_given<int>(parameter, "high").value_or(std::numeric_limits<int>::max()),
                                     .default_value = if_given<int>(parameter, "default"),
                                     .help = help}));
  if (kind == "boolean")
    return py::cast(
        section.boolean({.name = name, .default_value = if_given<bool>(parameter, "default"), .help = help}));
  if (kind == "choice")
    return py::cast(section.choice({.name = name,
                                    .options = parameter.attr("options").cast<std::vector<std::string>>(),
                                    .default_value = if_given<std::string>(parameter, "default"),
                                    .help = help}));
  if (kind == "times_of_day")
    return py::cast(hours_of(section.times_of_day(
        {.name = name, .default_value = if_given<std::vector<std::string>>(parameter, "default"), .help = help})));
  if (kind == "time_of_day")
    return py::cast(
        section.time_of_day({.name = name, .default_value = if_given<std::string>(parameter, "default"), .help = help})
            .hours());
  throw InternalError("a parameter of kind " + kind);
}

// A policy of the class with its values from the scenario; a refusal by its own `check` is a mistake of the scenario.
py::object read_policy(const py::object& policy_class, Section& section) {
  py::dict values;
  for (const auto& [name, parameter] : policy_class.attr("parameters").cast<std::map<std::string, py::object>>())
    values[py::str(name)] = read_parameter(section, name, parameter);
  const py::object policy_or_refusal = policy_class.attr("_from_values")(values);
  if (py::isinstance<py::tuple>(policy_or_refusal)) {
    const auto refusal = policy_or_refusal.cast<std::pair<py::object, std::string>>();
    section.refuse("", refusal.second);
    return refusal.first;
  }
  return policy_or_refusal;
}

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
