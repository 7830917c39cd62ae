// What policies see, as Python has it: read-only attributes, made by keywords where somebody tests a policy by hand.
#include <algorithm>
#include <array>
#include <functional>

#include "bindings/own_policies.hpp"
#include "libsim/kernel/errors.hpp"

namespace farrowtide {
namespace py = pybind11;
namespace {

template <class View>
class ViewClass {
 public:
  ViewClass(py::module_& module, const char* name, const char* doc)
      : class_(module, name, doc), fields_(std::make_shared<Fields>()) {
    class_.def(py::init([fields = fields_](const py::kwargs& given) { return made(*fields, given); }));
    class_.def("__repr__", [fields = fields_, name = std::string(name)](const py::object& self) {
      std::string text;
      for (const auto& [field, set] : *fields)
        text += (text.empty() ? "" : ", ") + field + "=" + std::string(py::repr(self.attr(field.c_str())));
      return name + "(" + text + ")";
    });
  }

  template <class Value>
  ViewClass& field(const char* name, Value View::*member, const char* doc) {
    class_.def_readonly(name, member, doc);
    return setter(name, [member](View& view, const py::handle& given) { view.*member = given.cast<Value>(); });
  }

  // A value that Python has in another form.
  template <class Value, class ToPython, class FromPython>
  ViewClass& field(const char* name, Value View::*member, ToPython to_python, FromPython from_python, const char* doc) {
    class_.def_property_readonly(
        name, [member, to_python](const View& view) { return to_python(view.*member); }, doc);
    return setter(name,
                  [member, from_python](View& view, const py::handle& given) { view.*member = from_python(given); });
  }

 private:
  using Fields = std::vector<std::pair<std::string, std::function<void(View&, const py::handle&)>>>;

  static View made(const Fields& fields, const py::kwargs& given) {
    View view;
    for (const auto& [key, value] : given) {
      const std::string name = py::str(key);
      const auto known = std::ranges::find(fields, name, &Fields::value_type::first);
      if (known == fields.end()) throw py::type_error("the view has no '" + name + "'");
      known->second(view, value);
    }
    return view;
  }

  template <class Setter>
  ViewClass& setter(const char* name, Setter set) {
    fields_->emplace_back(name, std::move(set));
    return *this;
  }

  py::class_<View> class_;
  std::shared_ptr<Fields> fields_;
};

double hours(Duration duration) { return duration.hours(); }
Duration from_hours(const py::handle& given) { return Duration::from_hours(given.cast<double>()); }

constexpr std::array<const char*, sign_count> sign_names = {"temperature", "nursing", "not_eaten_or_drunk", "udder",
                                                            "legs"};

std::size_t sign_of(const std::string& name) {
  const auto found = std::ranges::find(sign_names, name);
  if (found == sign_names.end()) throw UserError("no sign is called '" + name + "'");
  return static_cast<std::size_t>(found - sign_names.begin());
}

py::object signs(const SignSet& set) {
  py::set names;
  for (std::size_t i = 0; i < sign_count; ++i) {
    if (set.test(i)) names.add(py::str(sign_names[i]));
  }
  return py::frozenset(names);
}

py::object sign(const std::optional<Sign>& found) {
  return found ? py::object(py::str(sign_names[static_cast<std::size_t>(*found)])) : py::none();
}

std::optional<Sign> sign_from(const py::handle& given) {
  if (given.is_none()) return std::nullopt;
  return static_cast<Sign>(sign_of(given.cast<std::string>()));
}

void bind_feeding_views(py::module_& module) {
  ViewClass<FeedingView>(module, "FeedingView", "What the person with the feed cart knows of one sow.")
      .field("parity", &FeedingView::parity, "1: her first litter")
      .field("farrowed", &FeedingView::farrowed, "whether her last piglet is born")
      .field("day", &FeedingView::day,
             "lactation day once she has farrowed; before, days to her due date as a negative number")
      .field("round_h", &FeedingView::round, hours, from_hours, "clock time of this round [h since midnight]")
      .field("backfat_mm", &FeedingView::backfat_mm, "P2 at loading [mm]")
      .field("in_trough_kg", &FeedingView::in_trough_kg, "what lies there now [kg]")
      .field("own_allowance_kg_per_day", &FeedingView::own_allowance_kg_per_day,
             "as set at her last trough check [kg/d]; None before the first");
  ViewClass<TroughView>(module, "TroughView", "Her trough at the morning check, before the first feed of the day.")
      .field("parity", &TroughView::parity, "1: her first litter")
      .field("day", &TroughView::day, "of lactation")
      .field("offered_kg", &TroughView::offered_kg, "since the last check [kg]")
      .field("left_kg", &TroughView::left_kg, "of it now [kg]")
      .field("own_allowance_kg_per_day", &TroughView::own_allowance_kg_per_day, "[kg/d]; None before the first check");
  ViewClass<TroughDecision>(module, "TroughDecision", "What follows from a look at her trough.")
      .field("allowance_kg_per_day", &TroughDecision::allowance_kg_per_day, "hers from now on [kg/d]; None: as before")
      .field("flag", &TroughDecision::flag, "somebody is to look at her")
      .field("clean", &TroughDecision::clean, "what lies there is removed now");
}

void bind_fostering_views(py::module_& module) {
  ViewClass<LitterView>(module, "LitterView", "A sow that has farrowed, with what nurses her.")
      .field("sow", &LitterView::sow, "her number")
      .field("parity", &LitterView::parity, "1: her first litter")
      .field("teats", &LitterView::teats, "functional teats")
      .field("nursing", &LitterView::nursing, "piglets that nurse her")
      .field("lactation_day", &LitterView::lactation_day, "[d]")
      .field("since_farrowing_h", &LitterView::since_farrowing_h, "since her last birth [h]")
      .field("mean_kg", &LitterView::mean_kg, "of the piglets that nurse her [kg]")
      .field("scouring", &LitterView::scouring, "any of them")
      .field("sow_ill", &LitterView::sow_ill, "found so by staff")
      .field("brought_to_nurse", &LitterView::brought_to_nurse, "a nurse sow from elsewhere on the farm");
  ViewClass<PigletView>(module, "PigletView", "A piglet that may be moved.")
      .field("litter", &PigletView::litter, "place in FosteringView.litters")
      .field("weight_kg", &PigletView::weight_kg, "[kg]")
      .field("age_h", &PigletView::age_h, "[h]")
      .field("moves", &PigletView::moves, "so far")
      .field("scouring", &PigletView::scouring, "");
  ViewClass<FosteringView>(module, "FosteringView", "The room at the moment of planning.")
      .field("litters", &FosteringView::litters, "LitterView each, in order of the sows' numbers")
      .field("piglets", &FosteringView::piglets, "PigletView each, litter by litter, in order of birth")
      .field("born_alive", &FosteringView::born_alive, "in the room so far")
      .field("moved", &FosteringView::moved, "piglets moved so far, each once");
}

void bind_care_view(py::module_& module) {
  ViewClass<CareView>(module, "CareView", "What people know of a sow that has farrowed.")
      .field("parity", &CareView::parity, "1: her first litter")
      .field("lactation_day", &CareView::lactation_day, "[d]")
      .field("piglets", &CareView::piglets, "that nurse her")
      .field("since_farrowing_h", &CareView::since_farrowing_h, "[h]")
      .field("farrowing_duration_min", &CareView::farrowing_duration_min, "[min]")
      .field("assisted", &CareView::assisted, "whether any birth was helped")
      .field("stillborn", &CareView::stillborn, "piglets")
      .field("seen", &CareView::seen, signs, signs_from,
             "signs seen so far: temperature, nursing, not_eaten_or_drunk, udder, legs")
      .field("days_off_feed", &CareView::days_off_feed, "mornings in a row on which her trough was found untouched")
      .field("just_found", &CareView::just_found, sign, sign_from,
             "the sign that treatment is asked about; None: a reading below the alarm")
      .field("rectal_deg_c", &CareView::rectal_deg_c, "last reading [degC], or None")
      .field("since_treatment_h", &CareView::since_treatment_h, "since the last one was asked for [h], or None");
}

void bind_room_views(py::module_& module) {
  ViewClass<GiltView>(module, "GiltView", "What people see of a first-parity sow in the morning.")
      .field("days_in_room", &GiltView::days_in_room, "0 is the day of loading")
      .field("times_taught", &GiltView::times_taught, "so far")
      .field("eaten_since_yesterday_kg", &GiltView::eaten_since_yesterday_kg, "[kg]");
  ViewClass<DrinkerView>(module, "DrinkerView", "One drinker in the morning.")
      .field("day", &DrinkerView::day, "of the group, 0 is loading")
      .field("crate", &DrinkerView::crate, "from 1")
      .field("crates", &DrinkerView::crates, "in the room")
      .field("looked_at", &DrinkerView::looked_at, "since the group came in")
      .field("sow_flagged", &DrinkerView::sow_flagged,
             "her trough was untouched, or somebody saw her not eat or drink");
  ViewClass<TemperatureView>(module, "TemperatureView", "The room at the full hour.")
      .field("group_day", &TemperatureView::group_day, "0 is the group's mean due date; negative before")
      .field("hour", &TemperatureView::hour, "of the day, 0-23")
      .field("deep_pit", &TemperatureView::deep_pit, "")
      .field("outdoor_mean_deg_c", &TemperatureView::outdoor_mean_deg_c, "of yesterday [degC]; None on the first day");
  ViewClass<LabourView>(module, "LabourView", "What is known of a sow that farrows when a round comes by.")
      .field("parity", &LabourView::parity, "1: her first litter")
      .field("births", &LabourView::births, "so far")
      .field("exams", &LabourView::exams, "so far")
      .field("since_first_birth_min", &LabourView::since_first_birth_min, "[min]")
      .field("since_last_birth_min", &LabourView::since_last_birth_min, "[min]")
      .field("since_last_look_min", &LabourView::since_last_look_min, "[min]; None: nobody has seen her since");
  ViewClass<HandlingView>(module, "HandlingView", "A litter that may be processed today.")
      .field("lactation_day", &HandlingView::lactation_day, "[d]")
      .field("piglets", &HandlingView::piglets, "that nurse her");
}

}  // namespace

SignSet signs_from(const py::handle& names) {
  SignSet set;
  for (const py::handle name : names) set.set(sign_of(name.cast<std::string>()));
  return set;
}

void bind_views(py::module_& module) {
  bind_room_views(module);
  bind_feeding_views(module);
  bind_care_view(module);
  bind_fostering_views(module);
}

}  // namespace farrowtide
