#include "libsim/scenario/yaml_tree.hpp"

#include <yaml-cpp/eventhandler.h>
#include <yaml-cpp/exceptions.h>
#include <yaml-cpp/parser.h>

#include <algorithm>
#include <map>
#include <optional>
#include <sstream>
#include <unordered_map>

#include "libsim/scenario/document.hpp"
#include "libsim/scenario/json_in_yaml.hpp"

namespace farrowtide {
namespace {

// Builds the tree from the parser's events, so that anchors, quotes and places are seen as written.
class TreeBuilder : public YAML::EventHandler {
 public:
  TreeBuilder(std::shared_ptr<const Source> source, const JsonInYaml& parsed)
      : source_(std::move(source)), parsed_(parsed) {
    auto nothing = std::make_shared<Node>();
    nothing->place = {source_, 1, 1};
    root = nothing;
  }

  NodeRef root;         // of kind empty until a node is read
  NodeRef last_quoted;  // nullptr if nothing is quoted
  std::vector<Mistake> mistakes;

  void OnDocumentStart(const YAML::Mark& mark) override {
    if (++documents_ > 1) give_up(place(mark), "a second document starts here", "one document per file");
  }
  void OnDocumentEnd() override {}

  void OnNull(const YAML::Mark& mark, YAML::anchor_t anchor) override {
    add(start(mark, Node::Kind::empty, "?"), anchor);
  }

  void OnScalar(const YAML::Mark& mark, const std::string& tag, YAML::anchor_t anchor,
                const std::string& text) override {
    const auto node = start(mark, Node::Kind::scalar, tag);
    node->text = text;
    node->quoted = tag == "!";
    if (node->quoted) last_quoted = node;
    add(node, anchor);
  }

  void OnAlias(const YAML::Mark& mark, YAML::anchor_t anchor) override {
    const auto anchored = anchors_.find(anchor);
    if (anchored == anchors_.end()) give_up(place(mark), "this alias is inside its own anchor", "");
    const NodeRef node = anchored->second;
    alias_nodes_ += node->size;
    if (alias_nodes_ > Document::most_alias_nodes) {
      give_up(place(mark), "aliases expand to too many values",
              "at most " + std::to_string(Document::most_alias_nodes) + " in all");
    }
    if (wants_key()) {
      complain(place(mark), "an alias is used as a key", "write the key out");
      open_.back().key = Key{.place = place(mark), .usable = false};
      return;
    }
    check_depth(place(mark), node->height);
    attach(node);
  }

  void OnSequenceStart(const YAML::Mark& mark, const std::string& tag, YAML::anchor_t anchor,
                       YAML::EmitterStyle::value) override {
    open(start(mark, Node::Kind::list, tag), anchor);
  }
  void OnSequenceEnd() override { close(); }

  void OnMapStart(const YAML::Mark& mark, const std::string& tag, YAML::anchor_t anchor,
                  YAML::EmitterStyle::value) override {
    open(start(mark, Node::Kind::mapping, tag), anchor);
  }
  void OnMapEnd() override { close(); }

 private:
  struct Key {
    std::string text = {};
    Place place;
    bool usable = true;
  };
  struct Open {
    std::shared_ptr<Node> node;
    YAML::anchor_t anchor;
    std::optional<Key> key = {};                          // read, its value not yet
    std::unordered_map<std::string, int> key_lines = {};  // of a mapping
  };

  Place place(const YAML::Mark& mark) const {
    return {source_, mark.line + 1, parsed_.column(mark.line, mark.column) + 1};
  }

  std::shared_ptr<Node> start(const YAML::Mark& mark, Node::Kind kind, const std::string& tag) {
    auto node = std::make_shared<Node>();
    node->kind = kind;
    node->place = place(mark);
    if (tag != "?" && tag != "!" && !tag.empty())
      complain(node->place, "the tag '" + tag + "' is not supported", "no tags");
    return node;
  }

  void open(std::shared_ptr<Node> node, YAML::anchor_t anchor) {
    open_.push_back({std::move(node), anchor});
    check_depth(open_.back().node->place, 0);
  }

  void close() {
    const Open done = std::move(open_.back());
    open_.pop_back();
    add(done.node, done.anchor);
  }

  void add(const std::shared_ptr<Node>& node, YAML::anchor_t anchor) {
    if (anchor != 0) anchors_[anchor] = node;
    if (wants_key()) {
      take_key(*node);
    } else {
      attach(node);
    }
  }

  bool wants_key() const {
    return !open_.empty() && open_.back().node->kind == Node::Kind::mapping && !open_.back().key;
  }

  void take_key(const Node& node) {
    Key key{node.text, node.place};
    key.usable = node.kind == Node::Kind::scalar && node.text != "<<";
    if (node.kind != Node::Kind::scalar) complain(node.place, "a key is not a word", "a word, a colon and a value");
    if (node.text == "<<" && !node.quoted)
      complain(node.place, "merge keys are not supported", "write the keys out, or alias a whole value");
    open_.back().key = std::move(key);
  }

  void attach(const NodeRef& node) {
    if (open_.empty()) {
      root = node;
      return;
    }
    Node& parent = *open_.back().node;
    parent.size += node->size;
    parent.height = std::max(parent.height, node->height + 1);
    if (parent.kind == Node::Kind::list) {
      parent.items.push_back(node);
    } else {
      attach_to_key(parent, node);
    }
  }

  void attach_to_key(Node& parent, const NodeRef& node) {
    const Key key = std::move(*open_.back().key);
    open_.back().key.reset();
    if (!key.usable) return;
    const auto [first, is_new] = open_.back().key_lines.emplace(key.text, key.place.line);
    if (!is_new) {
      record(mistake_at(key.place, path_to(key.text), shown(*node),
                        "is repeated, first given on line " + std::to_string(first->second), "each key only once"));
      return;
    }
    parent.entries.push_back({key.text, key.place, node});
  }

  std::string path_to(const std::string& last) const {
    std::string path;
    for (const Open& open : open_) {
      if (open.node->kind == Node::Kind::list) path += std::to_string(open.node->items.size()) + ".";
      if (open.key) path += open.key->text + ".";
    }
    return path + last;
  }

  void check_depth(const Place& where, int below) {
    if (static_cast<int>(open_.size()) + below > Document::deepest) {
      give_up(where, "values are nested too deeply", "at most " + std::to_string(Document::deepest) + " levels");
    }
  }

  void complain(const Place& where, std::string problem, std::string allowed) {
    record(mistake_at(where, "", "", std::move(problem), std::move(allowed)));
  }

  void record(Mistake mistake) {
    mistakes.push_back(std::move(mistake));
    if (mistakes.size() >= most_mistakes) throw ScenarioError(mistakes);
  }

  [[noreturn]] void give_up(const Place& where, std::string problem, std::string allowed) {
    complain(where, std::move(problem), std::move(allowed));
    throw ScenarioError(mistakes);
  }

  std::shared_ptr<const Source> source_;
  const JsonInYaml& parsed_;  // the text that the parser's marks refer to
  std::vector<Open> open_;
  std::map<YAML::anchor_t, NodeRef> anchors_;
  int alias_nodes_ = 0;
  int documents_ = 0;
};

// Length of the UTF-8 character at the start of `text`; 0 where there is none.
std::size_t character_length(std::string_view text) {
  const auto byte = [&](std::size_t i) { return static_cast<unsigned char>(text[i]); };
  const unsigned char lead = byte(0);
  const std::size_t length = lead < 0x80   ? 1
                             : lead < 0xC2 ? 0
                             : lead < 0xE0 ? 2
                             : lead < 0xF0 ? 3
                             : lead < 0xF5 ? 4
                                           : 0;
  if (length < 2 || text.size() < length) return length == 1 ? 1 : 0;
  for (std::size_t i = 1; i < length; ++i) {
    if ((byte(i) & 0xC0) != 0x80) return 0;
  }
  // Over-long forms, surrogates and values above the last code point.
  const bool bad = (lead == 0xE0 && byte(1) < 0xA0) || (lead == 0xED && byte(1) > 0x9F) ||
                   (lead == 0xF0 && byte(1) < 0x90) || (lead == 0xF4 && byte(1) > 0x8F);
  return bad ? 0 : length;
}

Place place_at(const std::shared_ptr<const Source>& source, std::size_t offset) {
  const auto after = std::upper_bound(source->line_starts.begin(), source->line_starts.end(), offset);
  const auto line = after - source->line_starts.begin();
  const std::size_t start = *std::prev(after);
  return {source, static_cast<int>(line), static_cast<int>(offset - start) + 1};
}

// The first byte that is not UTF-8, otherwise the first control character: a line that is quoted is text.
std::optional<Mistake> wrong_bytes(const std::shared_ptr<const Source>& source) {
  const std::string_view text = source->text;
  std::optional<Mistake> control_character;
  for (std::size_t i = 0; i < text.size();) {
    const std::size_t length = character_length(text.substr(i));
    if (length == 0) {
      Mistake mistake = mistake_at(place_at(source, i), "", "", "this is not UTF-8 text", "save it as UTF-8");
      mistake.excerpt.clear();
      return mistake;
    }
    const auto byte = static_cast<unsigned char>(text[i]);
    const bool is_control = (byte < 0x20 && byte != '\t' && byte != '\n' && byte != '\r') || byte == 0x7F;
    if (is_control && !control_character)
      control_character = mistake_at(place_at(source, i), "", "", "this is a control character", "plain text");
    i += length;
  }
  return control_character;
}

std::vector<Mistake> tabs_in_indentation(const std::shared_ptr<const Source>& source) {
  std::vector<Mistake> mistakes;
  const std::string_view text = source->text;
  for (std::size_t start = 0; start < text.size();
       start = text.find('\n', start) == text.npos ? text.size() : text.find('\n', start) + 1) {
    const std::size_t first = std::min(text.find_first_not_of(" \t", start), text.size());
    const std::size_t tab = text.substr(start, first - start).find('\t');
    if (tab == std::string_view::npos || first == text.size() || text[first] == '\n' || text[first] == '\r' ||
        text[first] == '#')
      continue;
    mistakes.push_back(
        mistake_at(place_at(source, start + tab), "", "", "this line is indented with a tab", "indent with spaces"));
    if (mistakes.size() == 20) break;
  }
  return mistakes;
}

void check_text(const std::shared_ptr<const Source>& source) {
  if (source->text.size() > Document::largest_bytes) {
    throw ScenarioError({mistake_at({source, 0, 0}, "", "", "the file is too large",
                                    "at most " + std::to_string(Document::largest_bytes >> 20) + " MB")});
  }
  if (const std::optional<Mistake> mistake = wrong_bytes(source)) throw ScenarioError({*mistake});
  if (std::vector<Mistake> mistakes = tabs_in_indentation(source); !mistakes.empty())
    throw ScenarioError(std::move(mistakes));
}

// The parser accepts the end of the file as a closing quote; only the last quoted value can have swallowed the rest.
std::optional<Mistake> open_quote(const Node& quoted) {
  const std::string& text = quoted.place.source->text;
  const std::size_t line = quoted.place.source->line_starts[static_cast<std::size_t>(quoted.place.line) - 1];
  std::size_t start = line + static_cast<std::size_t>(quoted.place.column - 1);
  if (text[start] == '&') start = std::min(text.find_first_of("'\"", start), text.size() - 1);  // behind an anchor
  if (text[start] != '"' && text[start] != '\'') return {};
  for (std::size_t i = start + 1; i < text.size(); ++i) {
    const bool escape = text[start] == '"' ? text[i] == '\\' : text.compare(i, 2, "''") == 0;
    if (!escape && text[i] == text[start]) return {};
    i += escape ? 1 : 0;
  }
  return mistake_at(quoted.place, "", "", "this quote is never closed");
}

// The parser's place can be past the end, or missing.
Place inside(const std::shared_ptr<const Source>& source, const JsonInYaml& parsed, const YAML::Mark& mark) {
  const auto lines = static_cast<int>(source->line_starts.size());
  if (mark.line < 0) return {source, 0, 0};
  return {source, std::min(mark.line + 1, lines), parsed.column(mark.line, mark.column) + 1};
}

}  // namespace

YamlTree parse_yaml(std::string text, std::string source_name) {
  if (text.starts_with("\xEF\xBB\xBF")) text.erase(0, 3);
  const auto source = std::make_shared<const Source>(std::move(source_name), std::move(text));
  check_text(source);
  const JsonInYaml parsed(source->text);
  TreeBuilder builder(source, parsed);
  try {
    std::istringstream stream(parsed.text());
    YAML::Parser parser(stream);
    while (parser.HandleNextDocument(builder)) {}
  } catch (const YAML::Exception& error) {
    // Some versions of yaml-cpp add the anchor's name; the place shows it.
    const std::string unknown = YAML::ErrorMsg::UNKNOWN_ANCHOR;
    builder.mistakes.push_back(
        mistake_at(inside(source, parsed, error.mark), "", "",
                   "this is not valid YAML: " + (error.msg.starts_with(unknown) ? unknown : error.msg)));
    throw ScenarioError(builder.mistakes);
  }
  if (builder.last_quoted) {
    if (std::optional<Mistake> mistake = open_quote(*builder.last_quoted)) {
      builder.mistakes.push_back(std::move(*mistake));
      throw ScenarioError(builder.mistakes);
    }
  }
  return {builder.root, std::move(builder.mistakes)};
}

}  // namespace farrowtide
