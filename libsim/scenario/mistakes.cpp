#include "libsim/scenario/mistakes.hpp"

#include <algorithm>
#include <cctype>
#include <numeric>

namespace farrowtide {
namespace {

std::string sentence_of_all(const std::vector<Mistake>& mistakes) {
  std::string text;
  for (const Mistake& mistake : mistakes) text.append(text.empty() ? "" : "\n").append(one_line(mistake));
  return text;
}

std::vector<Mistake> in_order(std::vector<Mistake> mistakes) {
  std::sort(mistakes.begin(), mistakes.end());
  mistakes.erase(std::unique(mistakes.begin(), mistakes.end()), mistakes.end());
  return mistakes;
}

// Edit distance that counts swapped neighbours, a common typing error, as one edit.
std::size_t edit_distance(std::string_view a, std::string_view b) {
  std::vector<std::size_t> before(b.size() + 1), last(b.size() + 1), row(b.size() + 1);
  std::iota(last.begin(), last.end(), 0);
  for (std::size_t i = 1; i <= a.size(); ++i) {
    row[0] = i;
    for (std::size_t j = 1; j <= b.size(); ++j) {
      row[j] = std::min({last[j] + 1, row[j - 1] + 1, last[j - 1] + (a[i - 1] != b[j - 1])});
      if (i > 1 && j > 1 && a[i - 1] == b[j - 2] && a[i - 2] == b[j - 1]) row[j] = std::min(row[j], before[j - 2] + 1);
    }
    before = last;
    last = row;
  }
  return last[b.size()];
}

bool same_but_for_capitals(std::string_view a, std::string_view b) {
  return std::equal(a.begin(), a.end(), b.begin(), b.end(),
                    [](unsigned char x, unsigned char y) { return std::tolower(x) == std::tolower(y); });
}

}  // namespace

std::string one_line(const Mistake& mistake) {
  std::string text = mistake.source;
  if (mistake.line > 0)
    text.append(":").append(std::to_string(mistake.line)).append(":").append(std::to_string(mistake.column));
  text += ": " + mistake.key;
  if (!mistake.value.empty()) text += (mistake.key.empty() ? "" : " = ") + mistake.value;
  if (!mistake.key.empty() || !mistake.value.empty()) text += ": ";
  text += mistake.problem;
  if (!mistake.allowed.empty()) text += " (" + mistake.allowed + ")";
  text += ".";
  if (!mistake.suggestion.empty()) text += " Did you mean " + mistake.suggestion + "?";
  return text;
}

std::string with_excerpt(const Mistake& mistake) {
  if (mistake.line == 0 || mistake.excerpt.empty()) return one_line(mistake);
  const std::string number = std::to_string(mistake.line);
  const std::size_t indent = mistake.column > 0 ? static_cast<std::size_t>(mistake.column - 1) : 0;
  return one_line(mistake) + "\n  " + number + " | " + mistake.excerpt + "\n  " + std::string(number.size(), ' ') +
         " | " + std::string(indent, ' ') + "^";
}

ScenarioError::ScenarioError(std::vector<Mistake> mistakes) : UserError(sentence_of_all(in_order(mistakes))) {
  mistakes_ = in_order(std::move(mistakes));
}

std::string closest(std::string_view word, const std::vector<std::string>& candidates) {
  std::string best;
  std::size_t best_distance = 1 + word.size() / 3;  // one letter, and a third of the letters, may be wrong
  if (word.size() > 200) return best;
  for (const std::string& candidate : candidates) {
    if (same_but_for_capitals(word, candidate)) return candidate;
    const std::size_t distance = edit_distance(word, candidate);
    if (distance <= best_distance && distance < std::max(word.size(), candidate.size())) {
      if (distance < best_distance || best.empty()) best = candidate;
      best_distance = distance;
    }
  }
  return best;
}

}  // namespace farrowtide
