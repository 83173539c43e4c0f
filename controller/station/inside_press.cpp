#include "station/inside.hpp"

#include <spdlog/spdlog.h>

#include <nlohmann/json.hpp>

#include "station/trace_reading.hpp"

namespace shankwright::station {

using ports::PressOrder;

namespace {
constexpr std::int64_t order_within_us = 500'000;
}

procedure::BiteFinished Station::Inside::bite_event(const BiteNews& news,
                                                    const ports::FittingView& view) const {
  const auto& joined = view.joined;
  const double area_mm2 = joined.press.ram_area_mm2;
  procedure::BiteFinished bite;
  bite.token = permit_token_;
  bite.fault_code = news.fault_code;
  bite.trace_present = !tracker_.samples().empty();
  bite.samples_missing = news.samples_missing;
  bite.peak_pressure_bar = news.peak_pressure_bar;
  bite.trace_peak_pressure_bar = peak_pressure_bar(tracker_.samples());
  bite.peak_force_kn = force_kn(news.peak_pressure_bar, area_mm2);
  bite.dwell_ms = news.dwell_ms;
  bite.least_gap_mm = news.least_gap_mm;
  const auto pass = static_cast<std::size_t>(view.state.pass);
  if (pass >= 1 && pass <= joined.recipe.envelope.size())
    bite.force_kn = force_at_gaps_kn(tracker_.samples(), joined.recipe.envelope[pass - 1], area_mm2);
  return bite;
}

void Station::Inside::take_news(const BiteNews& news) {
  const View view = at_press();
  if (news.kind == BiteNews::Kind::none) return;
  if (news.kind == BiteNews::Kind::unasked_bite) {
    const bool open = view && occupies_press(view->state.stage);
    if (open) record_or_keep(view, procedure::UnaskedBite{}, {});
    notice(open ? "The press closed without a permit; fitting " + view->serial + " is on hold."
                : "The press closed without a permit while no fitting was open.");
    return;
  }
  if (!view) return;
  Taken taken;
  switch (news.kind) {
    case BiteNews::Kind::started:
      record_or_keep(view, procedure::BiteStarted{}, {});
      break;
    case BiteNews::Kind::finished:
      taken.trace = tracker_.samples();
      ++strokes_[view->joined.die_pair.id];
      record_or_keep(view, bite_event(news, *view), std::move(taken));
      break;
    case BiteNews::Kind::refused:
      record_or_keep(view, procedure::PermitRefused{news.refusal}, {});
      break;
    case BiteNews::Kind::ended_without_bite:
      record_or_keep(view, procedure::PermitEnded{news.expired, true}, {});
      send_withdraw();  // should the order still be on its way
      break;
    case BiteNews::Kind::evidence_lost:
      taken.trace = tracker_.samples();
      record_or_keep(view, procedure::LinkLost{}, std::move(taken));
      send_withdraw();
      break;
    case BiteNews::Kind::none:
    case BiteNews::Kind::unasked_bite:
      break;
  }
}

void Station::Inside::note_link(const ports::PressScan& scan) {
  if (scan.link == noted_link_) return;
  noted_link_ = scan.link;
  const bool connected = scan.link == ports::LinkState::connected;
  station_entry(connected ? "link_connected" : "link_lost", actor_station, {{"problem", scan.link_problem}});
  spdlog::info("press link: {}", connected ? "connected" : scan.link_problem);
}

void Station::Inside::take_scan(ports::PressScan scan) {
  note_link(scan);
  take_news(tracker_.take(scan));
  scan.new_samples.clear();
  scan_ = std::move(scan);
}

void Station::Inside::take_scans() {
  for (ports::PressScan& scan : press_.take_scans()) take_scan(std::move(scan));
}

void Station::Inside::take_dropped() {
  for (const auto& dropped : press_.take_dropped()) {
    spdlog::warn("order {} did not go out: {}", dropped.token, dropped.why);
    const bool was_permit = tracker_.armed() && !tracker_.started() && dropped.token == permit_token_;
    if (!was_permit || dropped.may_have_arrived) continue;  // the scans will tell
    tracker_.disarm();
    if (const View view = at_press()) record_or_keep(view, procedure::PermitEnded{false, true}, {});
    notice("The permit did not reach the press: " + dropped.why);
  }
}

PressOrder Station::Inside::permit_order(const ports::FittingView& view) const {
  const auto& recipe = view.joined.recipe;
  const double area_mm2 = view.joined.press.ram_area_mm2;
  return {.kind = PressOrder::Kind::permit_one_bite,
          .token = view.state.token,
          .target_pressure_bar = pressure_bar(recipe.target_force_kn, area_mm2),
          .pressure_limit_bar = pressure_bar(recipe.force_limit_kn, area_mm2),
          .dwell_ms = recipe.dwell_ms,
          .closed_gap_mm = recipe.closed_gap_mm,
          .stroke_timeout_ms = recipe.stroke_timeout_ms,
          .permit_life_ms = recipe.permit_life_ms,
          .expected_die_tag = view.joined.die_pair.tag};
}

void Station::Inside::send_withdraw() {
  const std::uint16_t token = press_.next_token();
  if (token != 0)
    press_.send({.kind = PressOrder::Kind::withdraw_permit, .token = token},
                clock_.monotonic_us() + order_within_us);
}

}  // namespace shankwright::station
