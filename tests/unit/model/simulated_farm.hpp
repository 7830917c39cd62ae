// A farm (of one room, unless the YAML says otherwise) from a few lines of YAML, run to its end or in part, and ways to
// ask its tables.
#pragma once

#include <gtest/gtest.h>

#include <memory>
#include <string>
#include <vector>

#include "libsim/model/farm.hpp"
#include "libsim/model/room_tables.hpp"
#include "libsim/scenario/document.hpp"

namespace farrowtide {

using Values = std::vector<std::pair<std::string, double>>;  // of coefficients, by path

class FarmOfYaml {
 public:
  const RoomTables& tables() const { return tables_; }
  const FarmSettings& settings() const { return settings_; }

  std::vector<double> column(const Table& table, std::string_view name) const {
    for (std::size_t i = 0; i < table.infos().size(); ++i) {
      if (table.infos()[i].name != name) continue;
      return std::visit([](const auto& values) { return std::vector<double>(values.begin(), values.end()); },
                        table.column(i));
    }
    ADD_FAILURE() << "no column " << name;
    return {};
  }

  struct Event {
    double time_h;
    EventKind what;
    int sow, piglet;
    double amount, detail;
  };
  std::vector<Event> events(int sow = 0) const {
    const Table& table = tables_.events;
    const auto time_h = column(table, "time_h"), what = column(table, "what"), who = column(table, "sow"),
               piglet = column(table, "piglet"), amount = column(table, "amount"), detail = column(table, "detail");
    std::vector<Event> found;
    for (std::size_t i = 0; i < table.rows(); ++i) {
      if (sow != 0 && who[i] != sow) continue;
      found.push_back({time_h[i], static_cast<EventKind>(static_cast<int>(what[i])), static_cast<int>(who[i]),
                       static_cast<int>(piglet[i]), amount[i], detail[i]});
    }
    return found;
  }

 protected:
  FarmOfYaml(const std::string& yaml, const Values& values, const PolicyCatalogues& catalogues)
      : coefficients_(with(values)),
        settings_(read(yaml, coefficients_, catalogues)),
        biology_(std::make_unique<Biology>(Biology{coefficients_})) {}

  static Recording everything() {
    Recording recording;
    recording.events = recording.causes = true;
    return recording;
  }

  Coefficients coefficients_;
  FarmSettings settings_;
  std::unique_ptr<Biology> biology_;
  RoomTables tables_;

 private:
  static FarmSettings read(const std::string& yaml, const Coefficients& coefficients,
                           const PolicyCatalogues& catalogues) {
    Reading reading(Document::from_text(yaml, "farm.yaml"), coefficients);
    Section root = reading.root();
    FarmSettings settings = FarmSettings::read(root, catalogues);
    reading.finish();
    return settings;
  }

  static Coefficients with(const Values& values) {
    Coefficients coefficients = Coefficients::built_in();
    for (const auto& [path, value] : values) coefficients = coefficients.with_value(path, value);
    return coefficients;
  }
};

class SimulatedFarm : public FarmOfYaml {
 public:
  // `values` replaces coefficients, `catalogues` the policies there are.
  explicit SimulatedFarm(const std::string& yaml, std::uint32_t replicate = 0, const Values& values = {},
                         const PolicyCatalogues& catalogues = PolicyCatalogues::built_in())
      : FarmOfYaml(yaml, values, catalogues) {
    Farm farm(settings_, *biology_, Draws{5, replicate}, everything(), tables_);
    farm.run();
  }
};

// A farm that stands still at a time, so that a test can look at its first room and do things there itself.
class PausedFarm : public FarmOfYaml {
 public:
  explicit PausedFarm(const std::string& yaml, Time at, const Values& values = {},
                      const PolicyCatalogues& catalogues = PolicyCatalogues::built_in())
      : FarmOfYaml(yaml, values, catalogues), farm_(settings_, *biology_, Draws{5, 0}, everything(), tables_) {
    farm_.begin();
    run_until(at);
  }

  void run_until(Time at) { farm_.simulation().run_until(at); }

  FarrowingRoom& room() { return farm_.groups.front(); }
  Sow& sow(int number = 1) { return room().sows.at(static_cast<std::size_t>(number - 1)); }
  FarmSettings& changeable_settings() { return settings_; }  // take effect from now on
  const Biology& biology() const { return *biology_; }

 private:
  Farm farm_;
};

}  // namespace farrowtide
