#include "workshop/falls_due.hpp"

#include <algorithm>

namespace shankwright::workshop {
namespace {

/// How much of the span in which something counts as soon is left: what orders days against strokes.
double spans_left(const DueItem& item) {
  if (item.days_left) return static_cast<double>(*item.days_left) / static_cast<double>(soon_days);
  if (item.strokes_left && item.life_strokes && *item.life_strokes > 0)
    return static_cast<double>(*item.strokes_left) /
           (soon_life_share * static_cast<double>(*item.life_strokes));
  return -1e9;  // nobody knows: before everything else
}

DueItem by_day(DueKind kind, std::string id, std::string about, std::optional<std::int64_t> due_day,
               std::int64_t today) {
  DueItem item;
  item.kind = kind;
  item.id = std::move(id);
  item.about = std::move(about);
  item.due_day = due_day;
  if (due_day) item.days_left = *due_day - today;
  // The last day itself still counts as in date.
  if (!item.days_left || *item.days_left < 0)
    item.urgency = Urgency::overdue;
  else
    item.urgency = *item.days_left <= soon_days ? Urgency::soon : Urgency::later;
  return item;
}

}  // namespace

const char* name_of(DueKind kind) {
  switch (kind) {
    case DueKind::press_calibration:
      return "press_calibration";
    case DueKind::gauge_calibration:
      return "gauge_calibration";
    case DueKind::die_inspection:
      return "die_inspection";
    case DueKind::die_life:
      return "die_life";
    case DueKind::qualification:
      break;
  }
  return "qualification";
}

const char* name_of(Urgency urgency) {
  switch (urgency) {
    case Urgency::overdue:
      return "overdue";
    case Urgency::soon:
      return "soon";
    case Urgency::later:
      break;
  }
  return "later";
}

std::vector<DueItem> falls_due(const DueInput& input) {
  std::vector<DueItem> out;
  out.push_back(by_day(DueKind::press_calibration, input.press_id, "", input.press_due_day, input.today));
  for (const auto& [id, day] : input.shop.gauge_calibration_due_day)
    out.push_back(by_day(DueKind::gauge_calibration, id, "", day, input.today));
  for (const auto& [id, care] : input.shop.die_pairs) {
    out.push_back(by_day(DueKind::die_inspection, id, care.serial, care.inspection_due_day, input.today));
    const auto dies = input.library.die_pairs.find(id);
    if (dies == input.library.die_pairs.end()) continue;
    DueItem life;
    life.kind = DueKind::die_life;
    life.id = id;
    life.about = care.serial;
    life.life_strokes = dies->second.life_strokes;
    if (const auto strokes = input.strokes(id))
      life.strokes_left = *life.life_strokes - static_cast<std::int64_t>(care.strokes_at_register) -
                          static_cast<std::int64_t>(std::min<std::uint64_t>(*strokes, 1'000'000'000));
    if (!life.strokes_left || *life.strokes_left <= 0)
      life.urgency = Urgency::overdue;
    else
      life.urgency = spans_left(life) <= 1 ? Urgency::soon : Urgency::later;
    out.push_back(life);
  }
  for (const auto& person : input.people)
    for (const auto& [family, day] : person.qualified_until_day)
      out.push_back(by_day(DueKind::qualification, person.id, family, day, input.today));
  std::stable_sort(out.begin(), out.end(), [](const DueItem& a, const DueItem& b) {
    return a.urgency != b.urgency ? a.urgency < b.urgency : spans_left(a) < spans_left(b);
  });
  return out;
}

}  // namespace shankwright::workshop
