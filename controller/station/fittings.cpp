#include "station/fittings.hpp"

#include "procedure/expectation.hpp"

namespace shankwright::station {

using procedure::Stage;

bool occupies_press(Stage stage) {
  switch (stage) {
    case Stage::measure:
    case Stage::mark:
    case Stage::insert:
    case Stage::position:
    case Stage::permit_recorded:
    case Stage::permit_given:
    case Stage::biting:
    case Stage::turn:
    case Stage::gauge:
    case Stage::accepted:
      return true;
    case Stage::none:
    case Stage::released:
    case Stage::scrapped:
    case Stage::hold:
    case Stage::aside:
      return false;
  }
  return false;
}

std::string verdict_of(const procedure::State& state) {
  if (state.stage == Stage::accepted || state.stage == Stage::released) return "accepted";
  if (state.stage == Stage::scrapped) return "scrapped";
  if (state.stage == Stage::hold) return "held";
  return "";
}

void plan_coming_bite(ports::FittingView& view) {
  const auto plan = procedure::plan_of_pass(view.state.pass, view.joined);
  const auto index = static_cast<std::size_t>(view.state.bite);
  view.planned_edge_mm = view.state.bite >= 0 && index < plan.size() ? plan[index].edge_mm : 0;
  view.accepted_edge_mm = procedure::accepted_edges_mm(view.state, view.joined);
  view.envelope =
      procedure::coming_envelope(view.state, view.state.edge_mm.value_or(view.planned_edge_mm), view.joined);
}

void Fittings::put(ports::FittingView view) {
  view.verdict = verdict_of(view.state);
  plan_coming_bite(view);
  const std::string serial = view.serial;
  views_[serial] = std::make_shared<const ports::FittingView>(std::move(view));
}

View Fittings::find(const std::string& serial) const {
  const auto found = views_.find(serial);
  return found == views_.end() ? nullptr : found->second;
}

bool Fittings::press_occupied() const {
  const View now = active();
  return now && occupies_press(now->state.stage);
}

std::vector<std::string> Fittings::in_stage(Stage stage) const {
  std::vector<std::string> serials;
  for (const auto& [serial, view] : views_)
    if (view->state.stage == stage) serials.push_back(serial);
  return serials;
}

std::vector<View> Fittings::open() const {
  std::vector<View> out;
  for (const auto& [serial, view] : views_)
    if (view->state.stage != Stage::released && view->state.stage != Stage::scrapped) out.push_back(view);
  return out;
}

void Fittings::drop_finished() {
  std::erase_if(views_, [this](const auto& item) {
    const Stage stage = item.second->state.stage;
    return item.first != active_ && (stage == Stage::released || stage == Stage::scrapped);
  });
}

}  // namespace shankwright::station
