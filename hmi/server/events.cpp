#include "hmi/server/events.hpp"

#include <nlohmann/json.hpp>
#include <thread>

#include "accounts/accounts.hpp"
#include "hmi/server/control.hpp"
#include "hmi/server/control_routes.hpp"
#include "hmi/server/json_text.hpp"
#include "hmi/server/sessions.hpp"

namespace shankwright::hmi {

std::optional<std::string> EventStream::next(std::chrono::milliseconds slice) {
  if (stopping_) return std::nullopt;
  if (!begun_) return event(newest(service_.station));
  if (const auto since = Steady::now() - sent_at_; since < apart_least)
    std::this_thread::sleep_for(apart_least - since);
  auto snapshot = service_.station.wait_newer(sent_version_, static_cast<int>(slice.count()));
  if (stopping_) return std::nullopt;
  const bool newer = snapshot != nullptr && snapshot->version != sent_version_;
  const std::int64_t now_us = service_.clock.monotonic_us();
  show_life(now_us);
  const bool passed_on = service_.control.changes(now_us) != sent_changes_;
  if (!newer && !passed_on && Steady::now() - sent_at_ < apart_most) return std::nullopt;
  return event(snapshot != nullptr ? snapshot : newest(service_.station));
}

void EventStream::show_life(std::int64_t now_us) {
  // A person removed, or with another PIN by now, holds nothing any more, though nothing is asked from here.
  if (now_us - looked_up_us_ >= 1'000'000) {
    looked_up_us_ = now_us;
    if (const auto bearer = service_.sessions.peek(token_, now_us)) {
      const auto standing = service_.accounts.standing(bearer->person_id);
      if (!standing || standing->sessions_ended_at != bearer->sessions_ended_at)
        service_.sessions.close(token_);
    }
  }
  service_.control.heard(token_, now_us);
}

std::string EventStream::event(const std::shared_ptr<const ports::Snapshot>& snapshot) {
  const auto station = text_.of(snapshot);
  std::string out;
  out.reserve(station->size() + 256);
  if (!begun_) out += "retry: 1000\n";
  out += "event: station\nid: " + std::to_string(snapshot->version) + "\ndata: ";
  // The Station object is shared by all screens; what it holds and what is new in the samples differ from
  // screen to screen.
  out.append(*station, 0, station->size() - 1);
  sent_changes_ = service_.control.changes(service_.clock.monotonic_us());
  out += ",\"control\":" + dump_json(control_json(service_, token_));
  out += ",\"samples\":" + samples(*snapshot) + "}\n\n";
  begun_ = true;
  sent_version_ = snapshot->version;
  sent_at_ = Steady::now();
  return out;
}

std::string EventStream::samples(const ports::Snapshot& snapshot) {
  const auto& all = snapshot.bite_samples;
  // The same bite number with other samples is another bite: numbers wrap, and a bite cut short keeps its
  // number.
  const bool goes_on = snapshot.bite_samples_of == bite_ && rows_sent_ <= all.size() &&
                       (rows_sent_ == 0 || all[rows_sent_ - 1] == last_row_);
  const std::size_t from = goes_on ? rows_sent_ : 0;
  const auto area = ram_area_mm2(service_, snapshot);
  Json rows = Json::array();
  for (std::size_t i = from; i < all.size(); ++i)
    rows.push_back({all[i].time_ms, force_number(all[i].pressure_bar, area), gap_number(all[i].gap_mm)});
  bite_ = snapshot.bite_samples_of;
  rows_sent_ = all.size();
  if (!all.empty()) last_row_ = all.back();
  return dump_json({{"bite", bite_}, {"from", from}, {"rows", std::move(rows)}});
}

}  // namespace shankwright::hmi
