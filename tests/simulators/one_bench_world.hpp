#pragma once
#include <string>

#include "library/library.hpp"
#include "station/station.hpp"
#include "virtual_press.hpp"

namespace shankwright::tests {

/// Station, press, part and operator in one thread from one seed. The shop has everything in date (invented).
class OneBenchWorld {
 public:
  OneBenchWorld(const library::Library& library, const modbus::Profile& profile, const std::string& recipe_id,
                std::uint64_t seed, bench::PartWish part = {});

  /// Works the fitting to its end as a careful operator does. Returns its last view.
  ports::FittingView run();

  /// True to let the operator pull the rope out again once its depth is proven.
  bool pull_rope_out = false;
  /// Turn that the operator makes instead of the quarter turn, once.
  std::optional<double> wrong_turn_deg;
  std::vector<procedure::Code> refusals;  ///< every reason met on the way

 private:
  void step(const ports::FittingView& view);
  void give(const std::string& kind, int readings);
  void act(procedure::Event event, const std::string& gauge = "");
  void press_until_open();
  ports::FittingView now() const { return *station_.fitting(serial_); }

  recipe::JoinedRecipe joined_;
  library::Library library_;
  library::Shop shop_;
  people::FixedPeople people_{shop_.people};
  HandClock clock_;
  node::PressNode node_;
  VirtualPress press_;
  MemoryStore store_;
  station::Station station_;
  std::string serial_;
};

}  // namespace shankwright::tests
