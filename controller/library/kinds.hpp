#pragma once
#include <array>
#include <string_view>

#include "library/node.hpp"
#include "library/reader.hpp"
#include "recipe/model.hpp"

/// One reader per kind of file. Each reads every key, reports every fault it can see without other files, and
/// gives the value with the places of what was read.
namespace shankwright::library {

enum class FileKind { rope, terminal, die_pair, gauge, press, recipe, shop, job };

/// Folder of each kind under the library folder; a shop register and a job have none.
struct KindFolder {
  FileKind kind;
  std::string_view folder;
  std::string_view called;  ///< "a rope"
};
inline constexpr std::array kind_folders{KindFolder{FileKind::rope, "ropes", "a rope"},
                                         KindFolder{FileKind::terminal, "terminals", "a terminal"},
                                         KindFolder{FileKind::die_pair, "dies", "a die pair"},
                                         KindFolder{FileKind::gauge, "gauges", "a gauge"},
                                         KindFolder{FileKind::press, "presses", "a press"},
                                         KindFolder{FileKind::recipe, "recipes", "a recipe"}};

template <typename T>
struct Loaded {
  T value;
  Places places;
};

[[nodiscard]] Loaded<recipe::Rope> read_rope(const Node& root, FaultList& faults);
[[nodiscard]] Loaded<recipe::Terminal> read_terminal(const Node& root, FaultList& faults);
[[nodiscard]] Loaded<recipe::DiePair> read_die_pair(const Node& root, FaultList& faults);
[[nodiscard]] Loaded<recipe::Gauge> read_gauge(const Node& root, FaultList& faults);
[[nodiscard]] Loaded<recipe::Press> read_press(const Node& root, FaultList& faults);
[[nodiscard]] Loaded<recipe::Recipe> read_recipe(const Node& root, FaultList& faults);

}  // namespace shankwright::library
