#include "review/listing.hpp"

#include <algorithm>
#include <array>
#include <nlohmann/json.hpp>

#include "review/layout.hpp"
#include "review/time.hpp"

namespace shankwright::review {

Result<Listing> list(const ports::RecordStore& record, const ports::FittingFilter& filter) {
  auto one_more = filter;
  one_more.limit = filter.limit + 1;
  const auto found = record.find(one_more);
  if (!found.ok()) return found.problem();
  Listing listing{found.value(), ""};
  if (listing.rows.size() > filter.limit) {
    listing.rows.resize(filter.limit);
    if (!listing.rows.empty()) listing.next_after = listing.rows.back().serial;
  }
  return listing;
}

std::string listing_json(const Listing& listing) {
  using json = nlohmann::ordered_json;
  auto fittings = json::array();
  for (const auto& row : listing.rows)
    fittings.push_back({{"serial", row.serial},
                        {"recipe", row.recipe_id},
                        {"revision", row.recipe_revision},
                        {"job", row.job},
                        {"operator", row.operator_id},
                        {"rope_lot", row.rope_lot},
                        {"terminal_lot", row.terminal_lot},
                        {"die_pair", row.die_pair_id},
                        {"stage", row.stage},
                        {"verdict", row.verdict},
                        {"started_utc", utc_text(row.started_utc_us)},
                        {"changed_utc", utc_text(row.changed_utc_us)}});
  const json next = listing.next_after.empty() ? json(nullptr) : json(listing.next_after);
  return json{{"fittings", std::move(fittings)}, {"next_after", next}}.dump(-1, ' ', false,
                                                                            json::error_handler_t::replace);
}

std::string listing_text(const Listing& listing) {
  std::vector<std::vector<std::string>> table{{"serial", "verdict", "stage", "started (UTC)", "recipe", "job",
                                               "operator", "rope lot", "terminal lot", "die pair"}};
  for (const auto& row : listing.rows)
    table.push_back({row.serial, row.verdict, row.stage, utc_text(row.started_utc_us, 0),
                     row.recipe_id + " r" + std::to_string(row.recipe_revision), row.job, row.operator_id,
                     row.rope_lot, row.terminal_lot, row.die_pair_id});
  return columns(table, "");
}

}  // namespace shankwright::review
