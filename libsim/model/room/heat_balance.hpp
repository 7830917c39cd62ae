#pragma once

#include <array>
#include <span>

#include "libsim/kernel/names.hpp"
#include "libsim/model/room/animal_heat.hpp"
#include "libsim/model/room/psychrometrics.hpp"
#include "libsim/scenario/coefficients.hpp"

namespace farrowtide {

enum class CoolingPad { none, evaporative };
constexpr auto names(CoolingPad) {
  return std::to_array<Name<CoolingPad>>({{CoolingPad::none, "plain"}, {CoolingPad::evaporative, "evaporative_pad"}});
}
enum class HeaterState { off, on };

/// Building and equipment, totals for the whole room.
struct RoomBuilding {
  int crates;
  double heat_loss_w_per_k;
  double heat_capacity_j_per_k;
  double heater_w;
  CoolingPad pad = CoolingPad::none;

  static RoomBuilding standard(const Coefficients& coefficients, int crates);
};

/// Single thermal node losing heat to its surroundings: exact solution between switching events.
/// Equation:
///   tau [s] = capacity / loss
///   T(t) [degC] = T_eq + (T0 - T_eq) * exp(-t / tau)
///   mean(t) [degC] = T_eq + (T0 - T_eq) * (1 - exp(-t / tau)) * tau / t
///   reach(T1) [s] = -tau * ln((T1 - T_eq) / (T0 - T_eq)) if T1 'lies between T0 and T_eq', else 'never'
/// Where: capacity [J/K] heat capacity of the node; loss [W/K] heat loss coefficient to the surroundings; T0 [degC]
///   initial temperature; T_eq [degC] equilibrium temperature; t [s] time; T1 [degC] target temperature
/// Valid: constant heat input, loss and surroundings
/// Source: exact solution of capacity dT/dt = loss (T_eq - T)
struct HeatNode {
  double loss_w_per_k;
  double capacity_j_per_k;

  double time_constant_s() const { return capacity_j_per_k / loss_w_per_k; }
  /// Temperature [degC] after a time [s] of approach to the equilibrium.
  double after(double start_deg_c, double equilibrium_deg_c, double seconds) const;
  /// Mean temperature [degC] over that time.
  double mean(double start_deg_c, double equilibrium_deg_c, double seconds) const;
  /// Time [s] until the target temperature is reached; infinity if it never is.
  double time_to_reach_s(double start_deg_c, double equilibrium_deg_c, double target_deg_c) const;
};

/// Ventilation rate of the whole room: minimum at the set point, increasing as the room warms.
/// Equation:
///   stage [-] = clip(floor(above / stage_step) + 1, 1, 4)
///   speed [-] = clip(above / modulation_span, 0, 1)
///   first [L/s] = stage_flow[1] + speed * (stage_flow[2] - stage_flow[1])
///   flow [m3/s] = crates / 1000 * (first if stage = 1, else stage_flow[stage])
/// Where: above [K] room temperature minus set point; crates [-] number of crates in the room
/// Valid: any temperature
/// Source: ventilation rates MWPS-8, from memory; span and step assumed
class VentilationStages {
 public:
  VentilationStages(const Coefficients& coefficients, int crates);
  double operator()(double above_set_point_k) const;
  double least_m3_per_s() const { return flow_m3_per_s_.front(); }
  /// Whether the flow is constant between two differences [K] from the set point.
  bool same_between(double one_k, double other_k) const;

 private:
  std::array<double, 4> flow_m3_per_s_{};
  double modulation_span_k_, stage_step_k_;
};

/// Inputs to the room climate over one day.
struct RoomDayInputs {
  std::span<const double, 24> outdoor_deg_c;
  std::span<const double, 24> outdoor_relative_humidity_pct;
  std::span<const double, 24> set_point_deg_c;
  double animal_heat_w;  ///< sows and litters, mean of the previous day
  double lamp_w;
};

/// Room state carried over from day to day.
struct RoomState {
  double temperature_deg_c;
  HeaterState heater = HeaterState::off;
};

/// Room climate over 24 hours.
struct RoomDay {
  std::array<double, 24> temperature_deg_c{};  ///< hourly means
  std::array<double, 24> relative_humidity_pct{};
  std::array<double, 24> ventilation_m3_per_s{};
  std::array<double, 24> heater_kwh{};
  double mean_above_set_point_k = 0;  ///< daily mean of hourly excess
  double mean_below_set_point_k = 0;  ///< daily mean of hourly shortfall
};

/// Room climate over a day: animal heat, heat lamps, heater and staged ventilation around a set point.
/// Equation:
///   T_in [degC] = T_out - pad_efficiency * (T_out - T_wb) if 'a pad' and T_out > pad_on_above, else T_out
///   W_in [kg/kg] = W_out + pad_efficiency * (W_sat - W_out) if 'a pad' and T_out > pad_on_above, else W_out
///   animal [W] = (SowHeat + LitterHeat) * DailyHeatRhythm
///   heater 'on' if T - set_point < on_below, 'off' if T - set_point >= off_above
///   loss [W/K] = UA + air_heat_capacity * VentilationStages
///   T_eq [degC] = T_in + (SensibleShare * animal + lamps + heater) / loss
///   T [degC] = HeatNode(T_eq, loss) 'in steps of an hour; of' longest_step_while_stages_switch 'where stages switch'
///   vapour [kg/s] = (1 - SensibleShare) * animal / latent_heat / 3600 / 1000
///   W [kg/kg] = W_in + vapour / (VentilationStages * density)
///   RH [%] = clip(humidity(T, W), least_relative_humidity, most_relative_humidity)
/// Where: T_out [degC] outdoor temperature; T_wb [degC] outdoor wet-bulb temperature; W_out [kg/kg] outdoor humidity
///   ratio; W_sat [kg/kg] saturation humidity ratio at T_wb; set_point [degC] set point of the hour; lamps [W] heat
///   lamps; heater [W] heater power while on; UA [W/K] heat loss coefficient of the building; density [kg/m3] of dry
///   air, from Psychrometrics; humidity [%] relative humidity, from Psychrometrics
/// Valid: one well-mixed room; moisture in steady state within each hour
/// Source: lumped heat and moisture balance; pad MWPS-8, latent heat CIGR 2002, from memory
class RoomClimate {
 public:
  RoomClimate(const Coefficients& coefficients, const RoomBuilding& building);
  /// Advances the state by 24 hours.
  RoomDay operator()(RoomState& state, const RoomDayInputs& inputs) const;
  /// Inlet air: outdoor air, drawn through the evaporative pad when hot.
  struct Air {
    double deg_c;
    double humidity_ratio;
  };
  Air inlet(double outdoor_deg_c, double outdoor_relative_humidity_pct) const;

 private:
  struct Hour {
    Air inlet;
    double set_point_deg_c, animal_heat_w, lamp_w;
  };
  struct HourSums {
    double degree_seconds = 0, heater_seconds = 0, flow_seconds = 0, latent_w_seconds = 0;
  };
  struct Step {
    HeatNode node;
    double equilibrium_deg_c, flow_m3_per_s, latent_w;
  };
  HourSums run_hour(RoomState& state, const Hour& hour) const;
  Step step_at(const RoomState& state, const Hour& hour) const;
  double step_seconds(const RoomState& state, const Hour& hour, const Step& step, double left_s) const;
  void switch_heater(RoomState& state, double set_point_deg_c) const;
  double relative_humidity_pct(const Air& inlet, double room_deg_c, double flow_m3_per_s, double latent_w) const;

  RoomBuilding building_;
  VentilationStages ventilation_;
  Psychrometrics air_;
  SensibleShare sensible_share_;
  DailyHeatRhythm rhythm_;
  double air_heat_capacity_j_per_m3_k_, heater_on_below_k_, heater_off_above_k_, switching_step_s_;
  double pad_efficiency_, pad_on_above_deg_c_, latent_heat_w_h_per_g_, least_humidity_pct_, most_humidity_pct_;
};

}  // namespace farrowtide
