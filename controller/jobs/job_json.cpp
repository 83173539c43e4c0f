#include "jobs/job_json.hpp"

#include <algorithm>
#include <charconv>
#include <nlohmann/json.hpp>

#include "library/job.hpp"
#include "library/node.hpp"

namespace shankwright::jobs {
namespace {

using library::Node;

/// The job file's reader knows places as line and column. Every value is given a line of its own here, and
/// the pointer to it is remembered under that line.
class Tree {
 public:
  Tree(library::FaultList& faults, std::vector<std::string>& pointers)
      : faults_(faults), pointers_(pointers) {}

  Node node(const nlohmann::json& value, const std::string& pointer) {
    Node out;
    out.place = place(pointer);
    if (value.is_object()) {
      out.kind = Node::Kind::map;
      for (const auto& [name, member] : value.items()) {
        const auto at = pointer + "/" + escaped(name);
        Node key;
        key.kind = Node::Kind::scalar;
        key.text = name;
        Node inner = node(member, at);
        key.place = inner.place;
        out.entries.push_back({std::move(key), std::move(inner)});
      }
    } else if (value.is_array()) {
      out.kind = Node::Kind::sequence;
      for (std::size_t i = 0; i < value.size(); ++i)
        out.items.push_back(node(value[i], pointer + "/" + std::to_string(i)));
    } else if (!value.is_null()) {
      out.kind = Node::Kind::scalar;
      out.text = value.is_string() ? value.get<std::string>() : value.dump();
      const bool controls = std::any_of(out.text.begin(), out.text.end(), [](char character) {
        return static_cast<unsigned char>(character) < ' ' || character == 0x7f;
      });
      if (controls) {
        faults_.add(out.place, out.text, "a text without control characters, on one line");
        out.text = "-";
      }
    }
    return out;
  }

 private:
  library::Place place(const std::string& pointer) {
    pointers_.push_back(pointer);
    return {static_cast<int>(pointers_.size()), 1};
  }
  static std::string escaped(const std::string& name) {
    std::string out;
    for (const char character : name)
      out += character == '~'   ? std::string("~0")
             : character == '/' ? std::string("~1")
                                : std::string(1, character);
    return out;
  }

  library::FaultList& faults_;
  std::vector<std::string>& pointers_;
};

/// Of "body:12:1".
std::size_t line_of(const std::string& place) {
  const auto last = place.rfind(':');
  const auto before = last == std::string::npos || last == 0 ? last : place.rfind(':', last - 1);
  std::size_t line = 0;
  if (before != std::string::npos) std::from_chars(place.data() + before + 1, place.data() + last, line);
  return line;
}

/// `no key "rope"` stands at the map that lacks it.
std::string missing_key(const std::string& found) {
  constexpr std::string_view before = "no key \"";
  if (!found.starts_with(before) || !found.ends_with('"')) return "";
  return "/" + found.substr(before.size(), found.size() - before.size() - 1);
}

/// "each mark once; it stands first at body:12:1": a place of ours in the words, too.
std::string with_pointer(std::string words, const std::vector<std::string>& pointers) {
  constexpr std::string_view first = "first at body:";
  const auto at = words.find(first);
  if (at == std::string::npos) return words;
  const auto line = line_of(words.substr(at + first.size() - 5));
  return words.substr(0, at) + "first at " + (line >= 1 && line <= pointers.size() ? pointers[line - 1] : "");
}

}  // namespace

ReadJob read_job(const nlohmann::json& body, const library::Library& lib) {
  ReadJob out;
  if (!body.is_object()) {
    out.faults.push_back({"", body.is_null() ? "nothing" : body.type_name(), "a job as a JSON object"});
    return out;
  }
  library::FaultList faults("body");
  std::vector<std::string> pointers;
  const auto root = Tree(faults, pointers).node(body, "");
  library::Places places;
  out.job = library::read_job(root, &lib, faults, places);
  for (auto& fault : faults.take()) {
    const auto line = line_of(fault.place);
    const auto pointer = line >= 1 && line <= pointers.size() ? pointers[line - 1] : std::string();
    out.faults.push_back(
        {pointer + missing_key(fault.found), fault.found, with_pointer(std::move(fault.expected), pointers)});
  }
  return out;
}

std::string pointer_of(const std::string& path) {
  std::string out = path.empty() ? "" : "/";
  for (const char character : path) {
    if (character == '.' || character == '[')
      out += '/';
    else if (character != ']')
      out += character;
  }
  return out;
}

}  // namespace shankwright::jobs
