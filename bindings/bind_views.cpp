// What policies see, in Python: read-only attributes, and keyword arguments for making a view to test a policy with.
#include <algorithm>
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
    class_.def(py::init([fields = fields_](const py::kwargs& keywords) { return from_keywords(*fields, keywords); }));
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

  // A value that has another type in Python.
  template <class Value, class ToPython, class FromPython>
  ViewClass& field(const char* name, Value View::*member, ToPython to_python, FromPython from_python, const char* doc) {
    class_.def_property_readonly(
        name, [member, to_python](const View& view) { return to_python(view.*member); }, doc);
    return setter(name,
                  [member, from_python](View& view, const py::handle& given) { view.*member = from_python(given); });
  }

 private:
  using Fields = std::vector<std::pair<std::string, std::function<void(View&, const py::handle&)>>>;

  static View from_keywords(const Fields& fields, const py::kwargs& keywords) {
    View view;
    for (const auto& [key, value] : keywords) {
      const std::string name = py::str(key);
      const auto field = std::ranges::find(fields, name, &Fields::value_type::first);
      if (field == fields.end()) throw py::type_error("the view has no field '" + name + "'");
      field->second(view, value);
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

Sign sign_of(const std::string& name) {
  if (name == "not_eaten_or_drunk") return Sign::not_eaten;  // its former name
  const std::optional<Sign> sign = value_named<Sign>(name);
  if (!sign) throw UserError("no sign is called '" + name + "'");
  return *sign;
}

py::object names_of(const SignSet& set) {
  py::set names;
  for (std::size_t i = 0; i < set.size(); ++i) {
    if (set.test(i)) names.add(py::str(std::string(name_of(static_cast<Sign>(i)))));
  }
  return py::frozenset(names);
}

py::object name_or_none(const std::optional<Sign>& sign) {
  return sign ? py::object(py::str(std::string(name_of(*sign)))) : py::none();
}

std::optional<Sign> sign_from(const py::handle& given) {
  if (given.is_none()) return std::nullopt;
  return sign_of(given.cast<std::string>());
}

void bind_feeding_views(py::module_& module) {
  ViewClass<FeedingView>(module, "FeedingView", "What is known of one sow at a feeding round.")
      .field("parity", &FeedingView::parity, "Parity; 1 for a first litter.")
      .field("farrowed", &FeedingView::farrowed, "Whether her last piglet has been born.")
      .field("day", &FeedingView::day,
             "Lactation day after farrowing; before it, minus the number of days to her due date.")
      .field("round_h", &FeedingView::round, hours, from_hours, "Clock time of the round [h since midnight].")
      .field("backfat_mm", &FeedingView::backfat_mm, "Backfat P2 at loading [mm].")
      .field("in_trough_kg", &FeedingView::in_trough_kg, "Feed in the trough now [kg].")
      .field("own_allowance_kg_per_day", &FeedingView::own_allowance_kg_per_day,
             "Her allowance as set at the last trough check [kg/d]; None before the first check.")
      .field("own_allowance_day", &FeedingView::own_allowance_day, "Lactation day of that check.");
  ViewClass<TroughView>(module, "TroughView",
                        "The trough of one sow at the morning check, before the first feed of the day.")
      .field("parity", &TroughView::parity, "Parity; 1 for a first litter.")
      .field("day", &TroughView::day, "Lactation day.")
      .field("offered_kg", &TroughView::offered_kg, "Feed offered since the last check [kg].")
      .field("left_kg", &TroughView::left_kg, "Feed left of it now [kg].")
      .field("own_allowance_kg_per_day", &TroughView::own_allowance_kg_per_day,
             "Her allowance as set at the last check [kg/d]; None before the first check.")
      .field("own_allowance_day", &TroughView::own_allowance_day, "Lactation day of that check.");
  ViewClass<TroughDecision>(module, "TroughDecision", "What follows from a trough check.")
      .field("allowance_kg_per_day", &TroughDecision::allowance_kg_per_day,
             "Her allowance from now on [kg/d]; None leaves it unchanged.")
      .field("flag", &TroughDecision::flag, "Whether staff are asked to look at the sow.");
}

void bind_fostering_views(py::module_& module) {
  ViewClass<LitterView>(module, "LitterView", "A sow that has farrowed, and the piglets that nurse her.")
      .field("sow", &LitterView::sow, "The sow's number.")
      .field("parity", &LitterView::parity, "Parity; 1 for a first litter.")
      .field("teats", &LitterView::teats, "Number of functional teats.")
      .field("nursing", &LitterView::nursing, "Number of piglets that nurse her.")
      .field("lactation_day", &LitterView::lactation_day, "Lactation day.")
      .field("since_farrowing_h", &LitterView::since_farrowing_h, "Time since her last birth [h].")
      .field("mean_kg", &LitterView::mean_kg, "Mean weight of the piglets that nurse her [kg].")
      .field("scouring", &LitterView::scouring, "Whether any of them scours.")
      .field("sow_ill", &LitterView::sow_ill, "Whether staff have found the sow to be ill.")
      .field("brought_to_nurse", &LitterView::brought_to_nurse,
             "Whether she is a nurse sow brought in from elsewhere on the farm.");
  ViewClass<PigletView>(module, "PigletView", "A piglet that may be moved.")
      .field("litter", &PigletView::litter, "Index of its litter in FosteringView.litters.")
      .field("weight_kg", &PigletView::weight_kg, "Weight [kg].")
      .field("age_h", &PigletView::age_h, "Age [h].")
      .field("moves", &PigletView::moves, "Number of moves to another litter so far.")
      .field("scouring", &PigletView::scouring, "Whether it scours.");
  ViewClass<FosteringView>(module, "FosteringView", "The room at the time of planning.")
      .field("litters", &FosteringView::litters,
             "A LitterView for each sow that has farrowed, in the order of the sows' numbers.")
      .field("piglets", &FosteringView::piglets,
             "A PigletView for each piglet that may be moved, litter by litter, in order of birth.")
      .field("born_alive", &FosteringView::born_alive, "Number of piglets born alive in the room so far.")
      .field("moved", &FosteringView::moved, "Number of piglets moved so far, each counted once.");
}

void bind_care_view(py::module_& module) {
  ViewClass<CareView>(module, "CareView", "What staff know of a sow that has farrowed.")
      .field("parity", &CareView::parity, "Parity; 1 for a first litter.")
      .field("lactation_day", &CareView::lactation_day, "Lactation day.")
      .field("piglets", &CareView::piglets, "Number of piglets that nurse her.")
      .field("since_farrowing_h", &CareView::since_farrowing_h, "Time since her last birth [h].")
      .field("farrowing_duration_min", &CareView::farrowing_duration_min, "First to last birth [min].")
      .field("assisted", &CareView::assisted, "Whether any birth was assisted.")
      .field("stillborn", &CareView::stillborn, "Number of stillborn piglets.")
      .field("seen", &CareView::seen, names_of, signs_from,
             "Signs seen so far: any of temperature, nursing, not_eaten, udder, legs.")
      .field("eaten_kg", &CareView::eaten_kg,
             "Feed that staff saw this morning to have been eaten since the morning before [kg], an estimate.")
      .field("expected_kg", &CareView::expected_kg,
             "What a healthy sow of her parity and day eats in that time of what was in front of her [kg].")
      .field("drunk_l", &CareView::drunk_l, "Water drunk since the morning before [L], an estimate.")
      .field("expected_l", &CareView::expected_l, "Water that such a sow drinks in that time [L].")
      .field("off_feed_or_water", &CareView::off_feed_or_water,
             "Whether she was seen this morning to have eaten or drunk far less than that.")
      .field("trough_left_kg", &CareView::trough_left_kg, "Feed found in her trough this morning [kg].")
      .field("days_off_feed", &CareView::days_off_feed,
             "Consecutive mornings on which she was seen to have eaten next to nothing.")
      .field("seen_lame", &CareView::seen_lame, "Whether she has been seen lame since loading, rightly or wrongly.")
      .field("just_found", &CareView::just_found, name_or_none, sign_from,
             "The sign that `treat` is asked about; None for a temperature below the alarm.")
      .field("rectal_deg_c", &CareView::rectal_deg_c, "Last rectal temperature [degC]; None if it was not taken.")
      .field("since_treatment_h", &CareView::since_treatment_h,
             "Time since the last treatment was requested [h]; None without one.");
}

void bind_room_views(py::module_& module) {
  ViewClass<GiltView>(module, "GiltView", "What staff see of a first-parity sow in the morning.")
      .field("days_in_room", &GiltView::days_in_room, "Days in the room; 0 on the day of loading.")
      .field("times_taught", &GiltView::times_taught, "How often she has been shown how to drink and eat.")
      .field("eaten_since_yesterday_kg", &GiltView::eaten_since_yesterday_kg,
             "Feed eaten since yesterday morning [kg].");
  ViewClass<DrinkerView>(module, "DrinkerView", "One drinker in the morning.")
      .field("day", &DrinkerView::day, "Day of the group; 0 on the day of loading.")
      .field("crate", &DrinkerView::crate, "Number of the crate, from 1.")
      .field("crates", &DrinkerView::crates, "Number of crates in the room.")
      .field("looked_at", &DrinkerView::looked_at, "Whether it has been checked since loading.")
      .field("sow_flagged", &DrinkerView::sow_flagged,
             "Whether the sow's trough was untouched or she was seen not to eat or drink.");
  ViewClass<TemperatureView>(module, "TemperatureView", "The room at a full hour.")
      .field("group_day", &TemperatureView::group_day, "Day from the group's mean due date; negative before it.")
      .field("hour", &TemperatureView::hour, "Hour of the day, 0 to 23.")
      .field("deep_pit", &TemperatureView::deep_pit, "Whether the room has a deep pit.")
      .field("outdoor_mean_deg_c", &TemperatureView::outdoor_mean_deg_c,
             "Mean outdoor temperature of yesterday [degC]; None on the first day.");
  ViewClass<LabourView>(module, "LabourView", "What is known of a sow in labour when a round reaches her.")
      .field("parity", &LabourView::parity, "Parity; 1 for a first litter.")
      .field("births", &LabourView::births, "Number of births so far.")
      .field("exams", &LabourView::exams, "Number of internal examinations so far.")
      .field("since_first_birth_min", &LabourView::since_first_birth_min, "Time since her first birth [min].")
      .field("since_last_birth_min", &LabourView::since_last_birth_min, "Time since her last birth [min].")
      .field("since_last_look_min", &LabourView::since_last_look_min,
             "Time since staff last saw her in labour [min]; None if she has not been seen.");
  ViewClass<HandlingView>(module, "HandlingView", "A litter that may be processed today.")
      .field("lactation_day", &HandlingView::lactation_day, "Lactation day.")
      .field("piglets", &HandlingView::piglets, "Number of piglets that nurse the sow.");
}

}  // namespace

SignSet signs_from(const py::handle& names) {
  constexpr int most_names = 1000;
  SignSet set;
  int count = 0;
  for (const py::handle name : names) {  // which may have no end
    if (++count > most_names) throw UserError("more than 1,000 signs");
    set.set(static_cast<std::size_t>(sign_of(name.cast<std::string>())));
  }
  return set;
}

void bind_views(py::module_& module) {
  bind_room_views(module);
  bind_feeding_views(module);
  bind_care_view(module);
  bind_fostering_views(module);
}

}  // namespace farrowtide
