#include <algorithm>

#include "libsim/scenario/section.hpp"

namespace farrowtide {
namespace {

const Declaration* find_key(const std::list<Declaration>& keys, std::string_view name) {
  const auto key =
      std::find_if(keys.begin(), keys.end(), [&](const Declaration& other) { return other.is_called(name); });
  return key == keys.end() ? nullptr : &*key;
}

}  // namespace

Reading::Reading(const Document& document, Coefficients coefficients)
    : coefficients_(std::move(coefficients)),
      describing_(false),
      document_(document.root()),
      mistakes_(document.mistakes()) {}

Reading::Reading(Coefficients coefficients) : coefficients_(std::move(coefficients)), describing_(true) {}

Section Reading::root() {
  frames_.push_back({document_, document_ ? document_->place : Place{}, "", {&root_.keys}, false});
  return Section(*this, frames_.back(), root_.keys);
}

void Reading::finish() {
  for (const Section::Frame& frame : frames_) find_unknown_keys(frame);
  if (!mistakes_.empty()) throw ScenarioError(std::move(mistakes_));
}

void Reading::record(Mistake mistake) {
  mistakes_.push_back(std::move(mistake));
  if (mistakes_.size() >= most_mistakes) throw ScenarioError(std::move(mistakes_));
}

void Reading::find_unknown_keys(const Section::Frame& frame) {
  if (!frame.node || !frame.checks_unknown) return;
  for (const Node::Entry& entry : frame.node->entries) {
    const bool known = std::any_of(frame.declared.begin(), frame.declared.end(),
                                   [&](const auto* keys) { return find_key(*keys, entry.key) != nullptr; });
    if (!known) record(unknown_key(frame, entry));
  }
}

Mistake Reading::unknown_key(const Section::Frame& frame, const Node::Entry& entry) const {
  std::vector<std::string> names;
  for (const auto* keys : frame.declared) {
    for (const Declaration& key : *keys) names.push_back(key.name);
  }
  const std::string allowed = names.size() > 12 ? "" : "known keys: " + joined(names, ", ");
  const std::string key = frame.path.empty() ? entry.key : frame.path + "." + entry.key;
  const auto told = [&](std::string problem, std::string suggestion) {
    return mistake_at(entry.place, key, shown(*entry.value), std::move(problem), allowed, std::move(suggestion));
  };
  for (const Section::OtherVariant& other : frame.others) {
    Reading description(coefficients_);
    Section root = description.root();
    other.read(root);
    if (find_key(description.declared().keys, entry.key))
      return told("is only valid with " + other.kind_key + ": " + other.name, "");
  }
  if (std::string near = closest(entry.key, names); !near.empty())
    return told("is not a known key here", std::move(near));
  for (const Section::Frame& elsewhere : frames_) {
    const Declaration* declared = find_key(*elsewhere.declared.front(), entry.key);
    if (&elsewhere != &frame && declared) {
      return told("is not a known key here", (elsewhere.path.empty() ? "" : elsewhere.path + ".") + declared->name);
    }
  }
  return told("is not a known key here", "");
}

}  // namespace farrowtide
