#pragma once
#include <map>
#include <memory>
#include <string>
#include <vector>

#include "ports/station_port.hpp"

/// The fittings this station has open, and which one lies at the press. Plain bookkeeping, no I/O.
namespace shankwright::station {

using View = std::shared_ptr<const ports::FittingView>;

/// Stages in which a fitting occupies the press.
[[nodiscard]] bool occupies_press(procedure::Stage stage);
/// Verdict as a word for people and index: "", "accepted", "scrapped", "held".
[[nodiscard]] std::string verdict_of(const procedure::State& state);

class Fittings {
 public:
  /// Replaces the view of this serial by one with the new state and findings.
  void put(ports::FittingView view);
  [[nodiscard]] View find(const std::string& serial) const;
  [[nodiscard]] View active() const { return find(active_); }
  void make_active(const std::string& serial) { active_ = serial; }
  [[nodiscard]] bool press_occupied() const;
  [[nodiscard]] std::vector<std::string> in_stage(procedure::Stage stage) const;
  [[nodiscard]] std::vector<View> open() const;  ///< neither released nor scrapped, by serial
  /// Forgets finished fittings but the active one; the record keeps them.
  void drop_finished();

 private:
  std::map<std::string, View> views_;
  std::string active_;
};

/// Fills in what the screen needs about the coming bite.
void plan_coming_bite(ports::FittingView& view);

}  // namespace shankwright::station
