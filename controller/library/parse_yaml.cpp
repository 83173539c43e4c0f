#include <yaml-cpp/eventhandler.h>
#include <yaml-cpp/exceptions.h>
#include <yaml-cpp/parser.h>

#include <sstream>

#include "library/node.hpp"
#include "quantity/as_written.hpp"

namespace shankwright::library {
namespace {

Place place_of(const YAML::Mark& mark) {
  return mark.is_null() ? Place{} : Place{mark.line + 1, mark.column + 1};
}

Place place_at(std::string_view text, std::size_t offset) {
  Place place;
  for (const char c : text.substr(0, offset)) {
    place.column = c == '\n' ? 1 : place.column + 1;
    place.line += c == '\n' ? 1 : 0;
  }
  return place;
}

/// Ends the reading: what follows cannot be trusted or must not be followed.
struct Refused {};

/// Builds the tree. The parser calls itself once per level and tells us before it goes down, so refusing a
/// level here bounds its recursion as well as ours. Aliases are refused and never followed: no document grows
/// by reading it.
class TreeBuilder : public YAML::EventHandler {
 public:
  TreeBuilder(std::string_view text, FaultList& faults) : text_(text), faults_(faults) {
    for (std::size_t at = 0; at < text.size(); ++at) {
      if (text[at] == '\n') line_starts_.push_back(at + 1);
    }
  }

  void OnDocumentStart(const YAML::Mark& mark) override {
    if (++documents_ > 1) {
      faults_.add(place_of(mark), "a second document", "one document per file");
      throw Refused{};
    }
  }
  void OnDocumentEnd() override {}
  void OnNull(const YAML::Mark& mark, YAML::anchor_t anchor) override {
    refuse_anchor(mark, anchor);
    put(leaf(Node::Kind::nothing, mark, ""));
  }
  void OnAlias(const YAML::Mark& mark, YAML::anchor_t) override {
    faults_.add(place_of(mark), "an alias", "the value written out: anchors and aliases are not taken");
    put(leaf(Node::Kind::nothing, mark, ""));
  }
  void OnScalar(const YAML::Mark& mark, const std::string& tag, YAML::anchor_t anchor,
                const std::string& value) override {
    refuse_anchor(mark, anchor);
    refuse_tag(mark, tag);
    refuse_open_quote(place_of(mark));
    put(leaf(Node::Kind::scalar, mark, value));
  }
  void OnSequenceStart(const YAML::Mark& mark, const std::string& tag, YAML::anchor_t anchor,
                       YAML::EmitterStyle::value) override {
    open(Node::Kind::sequence, mark, tag, anchor);
  }
  void OnSequenceEnd() override { close(); }
  void OnMapStart(const YAML::Mark& mark, const std::string& tag, YAML::anchor_t anchor,
                  YAML::EmitterStyle::value) override {
    open(Node::Kind::map, mark, tag, anchor);
  }
  void OnMapEnd() override { close(); }

  [[nodiscard]] std::optional<Node> take() { return std::move(root_); }

 private:
  struct Level {
    Node node;
    std::optional<Node> key;  ///< of a map: waiting for its value
  };

  static Node leaf(Node::Kind kind, const YAML::Mark& mark, const std::string& text) {
    Node node;
    node.kind = kind;
    node.place = place_of(mark);
    node.text = text;
    return node;
  }
  void refuse_anchor(const YAML::Mark& mark, YAML::anchor_t anchor) {
    if (anchor != 0)
      faults_.add(place_of(mark), "an anchor", "the value without \"&\": anchors and aliases are not taken");
  }
  void refuse_tag(const YAML::Mark& mark, const std::string& tag) {
    // "?" marks a plain and "!" a quoted scalar without a tag.
    if (!tag.empty() && tag != "?" && tag != "!")
      faults_.add(place_of(mark), "tag " + tag, "the value without a tag");
  }
  /// yaml-cpp 0.7 takes a quoted text that the end of the file cuts off, when the file ends with a new line.
  /// What was lost with the rest of the file is then lost in silence, so the closing quote is looked for
  /// here.
  void refuse_open_quote(Place place) {
    const auto line = static_cast<std::size_t>(place.line) - 1;
    if (line >= line_starts_.size()) return;
    std::size_t at = line_starts_[line] + static_cast<std::size_t>(place.column) - 1;
    if (at >= text_.size() || (text_[at] != '\'' && text_[at] != '"')) return;
    const char quote = text_[at];
    for (++at; at < text_.size(); ++at) {
      if (quote == '"' && text_[at] == '\\') {
        ++at;
      } else if (text_[at] == quote) {
        if (quote == '"' || at + 1 >= text_.size() || text_[at + 1] != '\'') return;
        ++at;  // '' is one quote inside the text
      }
    }
    faults_.add(place, "a quoted text that never ends", "a closing quote");
  }
  void open(Node::Kind kind, const YAML::Mark& mark, const std::string& tag, YAML::anchor_t anchor) {
    refuse_anchor(mark, anchor);
    refuse_tag(mark, tag);
    if (levels_.size() >= static_cast<std::size_t>(depth_most)) {
      faults_.add(place_of(mark), "nesting deeper than " + std::to_string(depth_most) + " levels",
                  "at most " + std::to_string(depth_most) + " levels");
      throw Refused{};
    }
    levels_.push_back({leaf(kind, mark, ""), std::nullopt});
  }
  void close() {
    Node done = std::move(levels_.back().node);
    levels_.pop_back();
    // A block map is marked where its first value separator was seen; its first key is what a person would
    // call its place.
    if (done.kind == Node::Kind::map && !done.entries.empty() &&
        before(done.entries[0].first.place, done.place)) {
      done.place = done.entries[0].first.place;
    }
    put(std::move(done));
  }
  static bool before(Place a, Place b) {
    return a.line < b.line || (a.line == b.line && a.column < b.column);
  }
  void put(Node node) {
    if (levels_.empty()) {
      root_ = std::move(node);
      return;
    }
    Level& level = levels_.back();
    if (level.node.kind == Node::Kind::sequence) {
      level.node.items.push_back(std::move(node));
    } else if (!level.key) {
      level.key = std::move(node);
    } else {
      // An empty value is marked at the next token, lines further on; its key is where a person has to look.
      if (node.kind == Node::Kind::nothing) node.place = level.key->place;
      level.node.entries.push_back({std::move(*level.key), std::move(node)});
      level.key.reset();
    }
  }

  std::string_view text_;
  std::vector<std::size_t> line_starts_{0};
  FaultList& faults_;
  std::vector<Level> levels_;
  std::optional<Node> root_;
  int documents_ = 0;
};

/// Control characters have no business in a recipe and could steer the terminal that shows the fault.
std::optional<std::size_t> first_control_character(const std::string& text) {
  for (std::size_t at = 0; at < text.size(); ++at) {
    const auto byte = static_cast<unsigned char>(text[at]);
    if ((byte < 0x20 && byte != '\t' && byte != '\n' && byte != '\r') || byte == 0x7F) return at;
  }
  return std::nullopt;
}

}  // namespace

std::optional<Node> parse_yaml(const std::string& text, FaultList& faults) {
  if (text.size() > file_bytes_most) {
    faults.add({}, std::to_string(text.size()) + " bytes",
               "at most " + std::to_string(file_bytes_most) + " bytes");
    return std::nullopt;
  }
  if (const auto at = quantity::first_invalid_utf8(text)) {
    faults.add(place_at(text, *at), "a byte that is not UTF-8", "UTF-8 text");
    return std::nullopt;
  }
  if (const auto at = first_control_character(text)) {
    faults.add(place_at(text, *at),
               "a control character (byte " + std::to_string(static_cast<unsigned char>(text[*at])) + ")",
               "text without control characters");
    return std::nullopt;
  }
  TreeBuilder builder(text, faults);
  try {
    std::istringstream stream(text);
    YAML::Parser parser(stream);
    while (parser.HandleNextDocument(builder)) {
    }
  } catch (const Refused&) {
    return std::nullopt;
  } catch (const YAML::Exception& error) {
    faults.add(place_of(error.mark), "what is no YAML (" + error.msg + ")", "YAML 1.2");
    return std::nullopt;
  }
  auto root = builder.take();
  if (!root || root->kind == Node::Kind::nothing) {
    faults.add({}, "nothing", "a map of keys and values");
    return std::nullopt;
  }
  return root;
}

}  // namespace shankwright::library
