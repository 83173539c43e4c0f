#include "station/quarantines.hpp"

#include <nlohmann/json.hpp>

#include "wording/wording.hpp"

namespace shankwright::station {

using nlohmann::json;
using ports::Item;

void Quarantines::take(const QuarantineEntry& entry) {
  const auto key = std::pair(entry.item.item, entry.item.id);
  if (entry.lifted)
    held_.erase(key);
  else
    held_[key] = entry;
}

bool Quarantines::in_record(Item item, const std::string& id) const {
  return held_.contains({item, id});
}

bool Quarantines::in_shop_file(Item item, const std::string& id) const {
  const auto flagged = [&id](const std::map<std::string, library::Lot>& lots) {
    const auto lot = lots.find(id);
    return lot != lots.end() && lot->second.quarantined;
  };
  if (item == Item::rope_lot) return flagged(shop_.rope_lots);
  if (item == Item::terminal_lot) return flagged(shop_.terminal_lots);
  return false;
}

std::vector<ports::QuarantinedItem> Quarantines::all() const {
  std::vector<ports::QuarantinedItem> out;
  for (const auto& [key, entry] : held_) {
    out.push_back(entry.item);
    out.back().in_shop_file = in_shop_file(key.first, key.second);
  }
  const auto add = [&](Item item, const std::map<std::string, library::Lot>& lots) {
    for (const auto& [id, lot] : lots)
      if (lot.quarantined && !in_record(item, id)) out.push_back({item, id, "shop register", "", 0, true});
  };
  add(Item::rope_lot, shop_.rope_lots);
  add(Item::terminal_lot, shop_.terminal_lots);
  return out;
}

std::int64_t Quarantines::sequence_of(Item item, const std::string& id) const {
  const auto found = held_.find({item, id});
  return found == held_.end() ? 0 : found->second.sequence;
}

std::string quarantine_body(const ports::QuarantinedItem& item, const std::vector<std::string>& held,
                            std::size_t released) {
  return json{{"item", wording::name_of(item.item)},
              {"id", item.id},
              {"reason", item.reason},
              {"held", held},
              {"released_count", released}}
      .dump(-1, ' ', false, json::error_handler_t::replace);
}

Result<QuarantineEntry> quarantine_from(const ports::StoredEntry& stored) {
  const Problem unreadable{"entry " + std::to_string(stored.sequence), stored.entry.body_json.substr(0, 80),
                           "item, id and reason of a quarantine"};
  const json body = json::parse(stored.entry.body_json, nullptr, false);
  if (!body.is_object() || !body.contains("id") || !body["id"].is_string()) return unreadable;
  QuarantineEntry out;
  const std::string kind = body.value("item", "");
  bool known = false;
  for (const Item item : {Item::rope_lot, Item::terminal_lot, Item::die_pair, Item::gauge}) {
    if (wording::name_of(item) != kind) continue;
    out.item.item = item;
    known = true;
  }
  if (!known) return unreadable;
  out.item.id = body["id"].get<std::string>();
  out.item.reason = body.value("reason", "");
  out.item.actor = stored.entry.actor;
  out.item.at_utc_us = stored.entry.at_utc_us;
  out.lifted = stored.entry.event == "quarantine_lifted";
  out.sequence = stored.sequence;
  return out;
}

}  // namespace shankwright::station
