#pragma once
#include <map>
#include <string>

#include "simulators/operator/json_client.hpp"

/// Hands and instruments at the simulated press's bench.
namespace shankwright::demo {

class BenchHand {
 public:
  explicit BenchHand(const std::string& url) : http_("bench", url) {}

  /// Reads which die pairs there are, and leaves the press as a tidy shop would: guard closed, emergency
  /// circuit healthy, remote control, nobody's hands on.
  void tidy_up();

  void new_part(const std::string& recipe, const std::string& rope);  ///< rope: "as_recipe" or a construction
  void mount(const std::string& die_pair);
  void mount_worn(const std::string& die_pair, double wear_mm);
  /// Another pair than this, by id.
  [[nodiscard]] std::string other_pair_than(const std::string& die_pair) const;
  void mark(const std::string& which, double aimed_mm);
  void insert(double short_by_mm);
  void pull_out();
  void position(double edge_mm);
  void turn(double by_deg);
  void take_out();
  void hands(bool on);
  void guard(bool closed);
  void emergency_circuit(bool healthy);
  void remote(bool selected);
  void relief_valve(double bar);
  void restore_relief_valve();
  /// The evidence body, ready for the station. readings 0: as many as the recipe asks for.
  [[nodiscard]] Json measure(const std::string& kind, const std::string& gauge, int readings = 0);

 private:
  Json act(const std::string& what, const Json& body);
  [[nodiscard]] int tag_of(const std::string& die_pair) const;

  JsonClient http_;
  std::map<std::string, int> tags_;  ///< of the die pairs, by id
};

}  // namespace shankwright::demo
