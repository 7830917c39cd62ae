// What must hold for every text whatever: it is read, or refused with places inside it; nothing else is thrown.
#pragma once

#include <algorithm>
#include <string>

#include "tests/unit/scenario/barn.hpp"

namespace farrowtide {

// "" or what does not hold.
inline std::string breach_of(const Mistake& mistake, const std::string& text) {
  const auto lines = static_cast<int>(std::count(text.begin(), text.end(), '\n')) + 1;
  const Source source("", text);
  const auto longest = static_cast<int>(source.line(mistake.line).size()) + 1;
  if (mistake.problem.empty()) return "a mistake without a problem";
  if (mistake.source != "text") return "a mistake in '" + mistake.source + "'";
  if (mistake.line < 0 || mistake.line > lines) return "a mistake outside the lines: " + one_line(mistake);
  if (mistake.line > 0 && (mistake.column < 1 || mistake.column > longest)) {
    return "a mistake outside its line: " + one_line(mistake);
  }
  return with_excerpt(mistake).starts_with(one_line(mistake)) ? "" : "an excerpt without its mistake";
}

template <class Act>
std::string breach_in(const std::string& text, Act act) {
  try {
    act();
  } catch (const ScenarioError& error) {
    if (error.mistakes().empty()) return "an error without a mistake";
    for (const Mistake& mistake : error.mistakes()) {
      if (std::string breach = breach_of(mistake, text); !breach.empty()) return breach;
    }
  }
  return "";
}

// Reads the text as a scenario, as alternatives, as an override's target and as an overlay.
inline std::string breach_in_reading(const std::string& text) {
  static const Coefficients coefficients = barn::coefficients();
  std::string breach = breach_in(text, [&] {
    const Document document = Document::from_text(text, "text");
    document.with_override("rooms.0.crates", "4").with_override("drinker.flow", "{a: [1]}").canonical();
    for (const Variation& variation : document.variations("alternatives")) {
      document.with_overrides(variation.overrides).canonical();
    }
    read_settings<barn::Barn>(document, coefficients);
  });
  return breach.empty() ? breach_in(text, [&] { coefficients.with_overlay(text, "text"); }) : breach;
}

}  // namespace farrowtide
