#include "libsim/scenario/section.hpp"

#include <algorithm>

namespace farrowtide {
namespace {

using Kind = Declaration::Kind;
using Presence = Declaration::Presence;

Declaration container(Kind kind, const std::string& name, const std::string& help) {
  Declaration declaration;
  declaration.kind = kind;
  declaration.presence = Presence::optional;
  declaration.name = name;
  declaration.help = help;
  return declaration;
}

}  // namespace

Declaration& Section::declare(Declaration declaration) {
  if (optional_) declaration.presence = Presence::optional;
  if (describing()) {
    check_declared_once(declaration.name);
    for (const std::string& alias : declaration.aliases) check_declared_once(alias);
  }
  const auto known =
      std::find_if(keys_->begin(), keys_->end(), [&](const Declaration& key) { return key.name == declaration.name; });
  const bool is_known = known != keys_->end();  // from an earlier entry of the same list
  Declaration& key = is_known ? *known : keys_->emplace_back(std::move(declaration));
  check_given_once(key);
  return key;
}

void Section::check_given_once(const Declaration& declaration) {
  const Node::Entry* first = find(declaration.name);
  for (const std::string& alias : declaration.aliases) {
    const Node::Entry* second = frame_->node ? frame_->node->find(alias) : nullptr;
    if (second && second != first)
      record(*second->value, alias,
             {"is another name for " + first->key + ", which is also given", "only one of them"});
  }
}

void Section::check_declared_once(const std::string& name) const {
  const auto has_name = [&](const Declaration& known) { return known.is_called(name); };
  for (const Keys* keys : {static_cast<const Keys*>(keys_), frame_->declared.front()}) {
    if (std::any_of(keys->begin(), keys->end(), has_name))
      throw InternalError("The key '" + path(name) + "' is declared twice.");
  }
}

const Node::Entry* Section::find(std::string_view name) const {
  if (!frame_->node) return nullptr;
  if (const Node::Entry* entry = frame_->node->find(name)) return entry;
  const auto key =
      std::find_if(keys_->begin(), keys_->end(), [&](const Declaration& declared) { return declared.name == name; });
  if (key == keys_->end()) return nullptr;
  for (const std::string& alias : key->aliases) {
    if (const Node::Entry* entry = frame_->node->find(alias)) return entry;
  }
  return nullptr;
}

// The kind in words; a list of choices has an example.
static std::string expected_words(Node::Kind kind, const std::vector<std::string>& options) {
  if (kind != Node::Kind::list || options.size() < 2) return kind_words(kind);
  return kind_words(kind) + ", as in [" + *(options.end() - 2) + ", " + options.back() + "]";
}

const Node::Entry* Section::given(const Declaration& declaration, Node::Kind kind) {
  const Node::Entry* entry = find(declaration.name);
  if (!entry) {
    if (declaration.presence == Presence::required && !describing() && !frame_->silent)
      refuse(declaration.name, "is missing", declaration.help.substr(0, declaration.help.find_last_not_of('.') + 1));
    return nullptr;
  }
  if (entry->value->kind == kind) return entry;
  if (entry->value->kind == Node::Kind::empty) {
    refuse(declaration.name, "has no value", expected_words(kind, declaration.options));
  } else {
    refuse(declaration.name, "is " + kind_words(entry->value->kind), expected_words(kind, declaration.options));
  }
  return nullptr;
}

void Section::record(const Node& node, const std::string& name, const Complaint& complaint) {
  reading_->record(
      mistake_at(node.place, path(name), shown(node), complaint.problem, complaint.allowed, complaint.suggestion));
}

Section Section::child(Declaration& declaration, NodeRef node, const Place& place, const std::string& child_path) {
  // Below a value of the wrong kind, absent keys are not reported.
  const bool silent = frame_->silent || (!node && has(declaration.name));
  const std::string& only_with = declaration.only_with.empty() ? frame_->only_with : declaration.only_with;
  reading_->frames_.push_back({std::move(node), place, child_path, {&declaration.keys}, silent, true, only_with});
  return Section(*reading_, reading_->frames_.back(), declaration.keys);
}

Section Section::section(const std::string& name, const std::string& help, const std::string& only_with) {
  Declaration own = container(Kind::section, name, help);
  own.only_with = only_with;
  Declaration& declaration = declare(std::move(own));
  const Node::Entry* entry = find(name);
  // `herd:` with nothing below it is an empty section.
  const bool empty = entry && entry->value->kind == Node::Kind::empty;
  const Node::Entry* mapping = empty ? nullptr : given(declaration, Node::Kind::mapping);
  Section part =
      child(declaration, mapping ? mapping->value : nullptr, entry ? entry->place : frame_->place, path(name));
  if (empty) part.frame_->silent = frame_->silent;
  return part;
}

std::optional<Section> Section::optional_section(const std::string& name, const std::string& help) {
  Section part = section(name, help);
  return has(name) ? std::optional(part) : std::nullopt;
}

std::vector<Section> Section::list(const std::string& name, const std::string& help) {
  Declaration& declaration = declare(container(Kind::list, name, help));
  if (describing()) return {child(declaration, nullptr, {}, path(name) + "[]")};
  std::vector<Section> parts;
  const Node::Entry* entry = given(declaration, Node::Kind::list);
  for (std::size_t i = 0; entry && i < entry->value->items.size(); ++i) {
    const NodeRef& item = entry->value->items[i];
    const std::string index = name + "." + std::to_string(i);
    const bool mapping = item->kind == Node::Kind::mapping;
    if (!mapping) record(*item, index, {"is " + kind_words(item->kind), kind_words(Node::Kind::mapping)});
    parts.push_back(child(declaration, mapping ? item : nullptr, item->place, path(index)));
  }
  return parts;
}

std::vector<std::pair<std::string, Section>> Section::named(const std::string& name, const std::string& help) {
  Declaration& declaration = declare(container(Kind::named, name, help));
  if (describing()) return {{"NAME", child(declaration, nullptr, {}, path(name) + ".NAME")}};
  std::vector<std::pair<std::string, Section>> parts;
  const Node::Entry* mappings = given(declaration, Node::Kind::mapping);
  if (!mappings) return parts;
  for (const Node::Entry& entry : mappings->value->entries) {
    const std::string part_name = name + "." + entry.key;
    const bool mapping = entry.value->kind == Node::Kind::mapping;
    if (!mapping)
      record(*entry.value, part_name, {"is " + kind_words(entry.value->kind), kind_words(Node::Kind::mapping)});
    parts.emplace_back(entry.key, child(declaration, mapping ? entry.value : nullptr, entry.place, path(part_name)));
  }
  return parts;
}

void Section::anything(const std::string& name, const std::string& help) {
  declare(container(Kind::anything, name, help));
}

Section Section::variant(const Choice& key, std::string_view name, std::string_view help, bool chosen) {
  Declaration* choice = nullptr;
  for (Declaration& declared : *keys_) {
    if (declared.name == key.name) choice = &declared;
  }
  auto& variants = choice->variants;
  auto own = std::find_if(variants.begin(), variants.end(), [&](const auto& variant) { return variant.name == name; });
  if (own == variants.end()) own = variants.insert(own, {std::string(name), std::string(help), {}});
  if (chosen || describing()) {
    frame_->declared.push_back(&own->keys);
    return Section(*reading_, *frame_, own->keys);
  }
  // With an invalid kind the values are not checked: the policy reads its defaults from an empty, silent mapping.
  reading_->frames_.push_back({nullptr, frame_->place, frame_->path, {&own->keys}, true});
  return Section(*reading_, reading_->frames_.back(), own->keys);
}

void Section::mistaken_variant() { frame_->checks_unknown = false; }

bool Section::has(std::string_view name) const { return describing() || find(name) != nullptr; }

void Section::refuse(std::string_view name, std::string problem, std::string allowed, std::string suggestion) {
  const Node::Entry* entry = find(name);
  const Place& place = !entry                                     ? frame_->place
                       : entry->value->kind == Node::Kind::scalar ? entry->value->place
                                                                  : entry->place;
  reading_->record(mistake_at(place, path(entry ? std::string_view(entry->key) : name),
                              entry ? shown(*entry->value) : "", std::move(problem), std::move(allowed),
                              std::move(suggestion)));
}

const Coefficients& Section::coefficients() const { return reading_->coefficients_; }
bool Section::describing() const { return reading_->describing_; }

std::string Section::path(std::string_view name) const {
  if (name.empty() || frame_->path.empty()) return frame_->path + std::string(name);
  return frame_->path + "." + std::string(name);
}

}  // namespace farrowtide
