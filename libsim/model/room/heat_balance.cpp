#include "libsim/model/room/heat_balance.hpp"

#include <algorithm>
#include <cmath>
#include <limits>

#include "libsim/kernel/errors.hpp"

namespace farrowtide {
namespace {

constexpr double seconds_per_hour = 3600;
constexpr double litres_per_m3 = 1000;

}  // namespace

RoomBuilding RoomBuilding::standard(const Coefficients& coefficients, int crates) {
  return {.crates = crates,
          .heat_loss_w_per_k = crates * coefficients.number("room.building.heat_loss", "W/K"),
          .heat_capacity_j_per_k = crates * coefficients.number("room.building.heat_capacity", "MJ/K") * 1e6,
          .heater_w = crates * coefficients.number("room.heater.power", "W")};
}

double HeatNode::after(double start_deg_c, double equilibrium_deg_c, double seconds) const {
  return equilibrium_deg_c + (start_deg_c - equilibrium_deg_c) * std::exp(-seconds / time_constant_s());
}

double HeatNode::mean(double start_deg_c, double equilibrium_deg_c, double seconds) const {
  if (seconds <= 0) return start_deg_c;
  const double x = seconds / time_constant_s();
  return equilibrium_deg_c - (start_deg_c - equilibrium_deg_c) * std::expm1(-x) / x;
}

double HeatNode::time_to_reach_s(double start_deg_c, double equilibrium_deg_c, double target_deg_c) const {
  const double left = (target_deg_c - equilibrium_deg_c) / (start_deg_c - equilibrium_deg_c);
  const bool on_the_way = left > 0 && left <= 1;
  return on_the_way ? -time_constant_s() * std::log(left) : std::numeric_limits<double>::infinity();
}

VentilationStages::VentilationStages(const Coefficients& coefficients, int crates)
    : modulation_span_k_(coefficients.number("room.ventilation.modulation_span", "K")),
      stage_step_k_(coefficients.number("room.ventilation.stage_step", "K")) {
  const auto& flow = coefficients.table("room.ventilation.stage_flow", "L/s");
  if (flow.size() != flow_m3_per_s_.size()) throw InternalError("a room has four ventilation stages");
  for (std::size_t i = 0; i < flow.size(); ++i) flow_m3_per_s_[i] = crates * flow[i] / litres_per_m3;
}

double VentilationStages::operator()(double above_set_point_k) const {
  // The first stage modulates up to the second; a stage that is on delivers at least its own flow.
  const double speed = std::clamp(above_set_point_k / modulation_span_k_, 0.0, 1.0);
  const double modulated = flow_m3_per_s_[0] + speed * (flow_m3_per_s_[1] - flow_m3_per_s_[0]);
  const int stages_on = std::clamp(static_cast<int>(std::floor(above_set_point_k / stage_step_k_)) + 1, 1, 4);
  return stages_on == 1 ? modulated : flow_m3_per_s_[stages_on - 1];
}

bool VentilationStages::same_between(double one_k, double other_k) const { return (*this)(one_k) == (*this)(other_k); }

RoomClimate::RoomClimate(const Coefficients& coefficients, const RoomBuilding& building)
    : building_(building),
      ventilation_(coefficients, building.crates),
      air_(coefficients),
      sensible_share_(coefficients),
      rhythm_(coefficients),
      air_heat_capacity_j_per_m3_k_(coefficients.number("room.building.air_heat_capacity", "J/(m3 K)")),
      heater_on_below_k_(coefficients.number("room.heater.on_below", "K")),
      heater_off_above_k_(coefficients.number("room.heater.off_above", "K")),
      switching_step_s_(60 * coefficients.number("room.building.longest_step_while_stages_switch", "min")),
      pad_efficiency_(coefficients.number("room.cooling.pad_efficiency", "-")),
      pad_on_above_deg_c_(coefficients.number("room.cooling.pad_on_above", "degC")),
      latent_heat_w_h_per_g_(coefficients.number("room.moisture.latent_heat", "W h/g")),
      least_humidity_pct_(coefficients.number("room.moisture.least_relative_humidity", "%")),
      most_humidity_pct_(coefficients.number("room.moisture.most_relative_humidity", "%")) {
  if (building.crates < 1 || !(building.heat_loss_w_per_k > 0) || !(building.heat_capacity_j_per_k > 0))
    throw UserError("a room needs crates, a heat loss and a heat capacity above 0");
}

RoomClimate::Air RoomClimate::inlet(double outdoor_deg_c, double outdoor_relative_humidity_pct) const {
  const Air outdoor{outdoor_deg_c, air_.humidity_ratio(outdoor_deg_c, outdoor_relative_humidity_pct)};
  if (building_.pad == CoolingPad::none || outdoor_deg_c <= pad_on_above_deg_c_) return outdoor;
  // The pad brings air part of the way to saturation at its wet-bulb temperature.
  const double wet_bulb = air_.wet_bulb_deg_c(outdoor_deg_c, outdoor_relative_humidity_pct);
  const double saturated = air_.humidity_ratio(wet_bulb, 100);
  return {outdoor.deg_c - pad_efficiency_ * (outdoor.deg_c - wet_bulb),
          outdoor.humidity_ratio + pad_efficiency_ * (saturated - outdoor.humidity_ratio)};
}

void RoomClimate::switch_heater(RoomState& state, double set_point_deg_c) const {
  const double above_k = state.temperature_deg_c - set_point_deg_c;
  if (above_k < heater_on_below_k_) state.heater = HeaterState::on;
  if (above_k >= heater_off_above_k_) state.heater = HeaterState::off;
}

RoomClimate::Step RoomClimate::step_at(const RoomState& state, const Hour& hour) const {
  const double flow = ventilation_(state.temperature_deg_c - hour.set_point_deg_c);
  const double loss = building_.heat_loss_w_per_k + air_heat_capacity_j_per_m3_k_ * flow;
  const double sensible = sensible_share_(state.temperature_deg_c);
  const double heater_w = state.heater == HeaterState::on ? building_.heater_w : 0;
  const double heat_w = sensible * hour.animal_heat_w + hour.lamp_w + heater_w;
  return {.node = {loss, building_.heat_capacity_j_per_k},
          .equilibrium_deg_c = hour.inlet.deg_c + heat_w / loss,
          .flow_m3_per_s = flow,
          .latent_w = (1 - sensible) * hour.animal_heat_w};
}

double RoomClimate::step_seconds(const RoomState& state, const Hour& hour, const Step& step, double left_s) const {
  const double start = state.temperature_deg_c;
  double seconds = left_s;
  // End the step where the heater switches; its hysteresis keeps switching events apart.
  const double switch_k = state.heater == HeaterState::on ? heater_off_above_k_ : heater_on_below_k_;
  const double switch_s = step.node.time_to_reach_s(start, step.equilibrium_deg_c, hour.set_point_deg_c + switch_k);
  if (switch_s < seconds) seconds = switch_s + 1;  // one second beyond, so that the step crosses the switching point
  if (seconds <= switching_step_s_) return std::min(seconds, left_s);
  // If ventilation would change during the step, take a short step and re-evaluate.
  const double end = step.node.after(start, step.equilibrium_deg_c, seconds);
  if (!ventilation_.same_between(start - hour.set_point_deg_c, end - hour.set_point_deg_c))
    seconds = std::min(seconds, switching_step_s_);
  return std::min(seconds, left_s);
}

RoomClimate::HourSums RoomClimate::run_hour(RoomState& state, const Hour& hour) const {
  HourSums sums;
  for (double left_s = seconds_per_hour; left_s > 0;) {
    switch_heater(state, hour.set_point_deg_c);
    const Step step = step_at(state, hour);
    const double seconds = step_seconds(state, hour, step, left_s);
    const double start = state.temperature_deg_c;
    sums.degree_seconds += seconds * step.node.mean(start, step.equilibrium_deg_c, seconds);
    sums.flow_seconds += seconds * step.flow_m3_per_s;
    sums.latent_w_seconds += seconds * step.latent_w;
    if (state.heater == HeaterState::on) sums.heater_seconds += seconds;
    state.temperature_deg_c = step.node.after(start, step.equilibrium_deg_c, seconds);
    left_s -= seconds;
  }
  return sums;
}

double RoomClimate::relative_humidity_pct(const Air& inlet, double room_deg_c, double flow_m3_per_s,
                                          double latent_w) const {
  // Air changes take minutes, so each hour is in steady state: moisture from inlet air and animals leaves with the air.
  const double water_kg_per_s = latent_w / latent_heat_w_h_per_g_ / 1000 / seconds_per_hour;
  const double air_kg_per_s = flow_m3_per_s * air_.dry_air_density_kg_per_m3(room_deg_c, inlet.humidity_ratio);
  const double ratio = inlet.humidity_ratio + water_kg_per_s / air_kg_per_s;
  return std::clamp(air_.relative_humidity_pct(room_deg_c, ratio), least_humidity_pct_, most_humidity_pct_);
}

RoomDay RoomClimate::operator()(RoomState& state, const RoomDayInputs& inputs) const {
  RoomDay day;
  for (int h = 0; h < 24; ++h) {
    const Hour hour{.inlet = inlet(inputs.outdoor_deg_c[h], inputs.outdoor_relative_humidity_pct[h]),
                    .set_point_deg_c = inputs.set_point_deg_c[h],
                    .animal_heat_w = inputs.animal_heat_w * rhythm_(h),
                    .lamp_w = inputs.lamp_w};
    const HourSums sums = run_hour(state, hour);
    day.temperature_deg_c[h] = sums.degree_seconds / seconds_per_hour;
    day.ventilation_m3_per_s[h] = sums.flow_seconds / seconds_per_hour;
    day.relative_humidity_pct[h] = relative_humidity_pct(
        hour.inlet, day.temperature_deg_c[h], day.ventilation_m3_per_s[h], sums.latent_w_seconds / seconds_per_hour);
    day.heater_kwh[h] = building_.heater_w * sums.heater_seconds / seconds_per_hour / 1000;
    const double above_k = day.temperature_deg_c[h] - hour.set_point_deg_c;
    day.mean_above_set_point_k += std::max(0.0, above_k) / 24;
    day.mean_below_set_point_k += std::max(0.0, -above_k) / 24;
  }
  return day;
}

}  // namespace farrowtide
