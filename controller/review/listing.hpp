#pragma once
#include <string>
#include <vector>

#include "ports/ports.hpp"
#include "quantity/result.hpp"

/// Many fittings on a page: what `find` prints.
namespace shankwright::review {

struct Listing {
  std::vector<ports::FittingRow> rows;
  std::string next_after;  ///< pass on as after_serial for the next page; empty on the last
};

/// One page, and whether there is another.
[[nodiscard]] Result<Listing> list(const ports::RecordStore& record, const ports::FittingFilter& filter);

/// {"fittings": [{serial, recipe, revision, job, operator, rope_lot, terminal_lot, die_pair, stage, verdict,
/// started_utc, changed_utc}], "next_after": serial or null}
[[nodiscard]] std::string listing_json(const Listing& listing);

/// A table with a heading, columns as wide as their widest content.
[[nodiscard]] std::string listing_text(const Listing& listing);

}  // namespace shankwright::review
