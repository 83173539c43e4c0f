#include "wording/wording.hpp"

#include <array>
#include <string>

namespace shankwright::wording {

using procedure::EntryKind;
using procedure::Limit;
using procedure::Stage;
using procedure::Surface;

namespace {

template <std::size_t Count>
std::string_view named(const std::array<std::string_view, Count>& names, std::uint16_t number,
                       std::string_view otherwise) {
  return number < Count ? names[number] : otherwise;
}

}  // namespace

std::string_view name_of(Stage stage) {
  switch (stage) {
    case Stage::none:
      return "none";
    case Stage::measure:
      return "measure";
    case Stage::mark:
      return "mark";
    case Stage::insert:
      return "insert";
    case Stage::position:
      return "position";
    case Stage::permit_recorded:
      return "permit_recorded";
    case Stage::permit_given:
      return "permit_given";
    case Stage::biting:
      return "biting";
    case Stage::turn:
      return "turn";
    case Stage::gauge:
      return "gauge";
    case Stage::accepted:
      return "accepted";
    case Stage::released:
      return "released";
    case Stage::scrapped:
      return "scrapped";
    case Stage::hold:
      return "hold";
    case Stage::aside:
      return "aside";
  }
  return "none";
}

std::string_view name_of(EntryKind kind) {
  switch (kind) {
    case EntryKind::refused:
      return "refused";
    case EntryKind::evidence:
      return "evidence";
    case EntryKind::finding:
      return "finding";
    case EntryKind::verdict:
      return "verdict";
  }
  return "refused";
}

std::string_view name_of(Surface surface) {
  switch (surface) {
    case Surface::not_looked_at:
      return "not_looked_at";
    case Surface::sound:
      return "sound";
    case Surface::cracked:
      return "cracked";
    case Surface::lapped:
      return "lapped";
    case Surface::wires_broken:
      return "wires_broken";
  }
  return "not_looked_at";
}

std::string_view name_of(Limit limit) {
  switch (limit) {
    case Limit::not_tried:
      return "not_tried";
    case Limit::passes:
      return "passes";
    case Limit::stops:
      return "stops";
  }
  return "not_tried";
}

std::string_view name_of(procedure::Disposition disposition) {
  switch (disposition) {
    case procedure::Disposition::scrap:
      return "scrap";
    case procedure::Disposition::use_as_is:
      return "use_as_is";
    case procedure::Disposition::return_to_work:
      return "return_to_work";
  }
  return "scrap";
}

std::string_view name_of(ports::Item item) {
  switch (item) {
    case ports::Item::rope_lot:
      return "rope_lot";
    case ports::Item::terminal_lot:
      return "terminal_lot";
    case ports::Item::die_pair:
      return "die_pair";
    case ports::Item::gauge:
      return "gauge";
  }
  return "rope_lot";
}

std::string_view event_name(const procedure::Event& event) {
  // in the order of procedure::Event
  static constexpr std::array<std::string_view, std::variant_size_v<procedure::Event>> names{
      "admit",          "rope_diameter", "shank_diameter", "bore_depth",    "depth_mark", "boundary_mark",
      "insertion",      "position",      "turn",           "reseated",      "permit",     "permit_durable",
      "permit_refused", "permit_ended",  "bite_started",   "bite_finished", "link_lost",  "restarted",
      "unasked_bite",   "withdraw",      "put_aside",      "resume",        "hold",       "across_flats",
      "go_gauge",       "no_go_gauge",   "growth",         "straightness",  "slip",       "surface",
      "judge",          "release",       "dispose",        "quarantined",   "proof_load"};
  return names[event.index()];
}

std::string_view press_fault(std::uint16_t fault_code) {
  static constexpr std::array<std::string_view, 11> names{
      "none",          "emergency stop",    "guard opened",    "hands released",
      "over-pressure", "station beat lost", "stroke time-out", "pressure sensor",
      "gap sensor",    "oil temperature",   "permit expired"};
  return named(names, fault_code, "unknown fault");
}

std::string_view press_refusal(std::uint16_t refusal) {
  static constexpr std::array<std::string_view, 8> names{
      "not refused",   "press not open", "emergency circuit", "guard open",
      "local control", "a fault stands", "other die tag",     "limits outside the press's own"};
  return named(names, refusal, "unknown reason");
}

std::string_view press_phase(std::uint16_t phase) {
  static constexpr std::array<std::string_view, 7> names{"stopped", "open",    "permitted", "closing",
                                                         "holding", "opening", "faulted"};
  return named(names, phase, "unknown");
}

}  // namespace shankwright::wording
