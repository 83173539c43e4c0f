#include "papers/certificate.hpp"

#include <fmt/format.h>

#include <utility>

#include "quantity/as_written.hpp"
#include "review/entry_words.hpp"

namespace shankwright::papers {
namespace {

constexpr auto refusal_place = "certificate";
constexpr std::size_t page_of_search = 1000;

Problem refuse(std::string found, std::string expected) {
  return {refusal_place, std::move(found), std::move(expected)};
}

std::optional<Problem> not_certifiable(const review::Evidence& evidence) {
  const auto& row = evidence.row;
  if (row.stage != "released")
    return refuse(fmt::format("{}, {}", row.serial, review::state_text(evidence)),
                  "a released fitting: only what was released can be certified");
  if (!evidence.seal)
    return refuse(
        fmt::format("{}, not sealed: {}", row.serial, evidence.not_sealed_because),
        "a fitting that a seal covers: the station seals at every release, at shift end and at its start");
  return std::nullopt;
}

Result<std::vector<ports::FittingRow>> rows_of_job(const ports::RecordStore& record, const std::string& job) {
  std::vector<ports::FittingRow> out;
  ports::FittingFilter filter;
  filter.job = job;
  filter.limit = page_of_search;
  for (;;) {
    auto page = record.find(filter);
    if (!page) return page.problem();
    if (page.value().empty()) return out;
    for (const auto& row : page.value()) out.push_back(row);
    if (page.value().size() < page_of_search) return out;
    filter.after_serial = out.back().serial;
  }
}

void add(Certified& to, review::Evidence evidence) {
  if (evidence.seal->sequence > to.seal.sequence) to.seal = *evidence.seal;
  to.fittings.push_back(std::move(evidence));
}

}  // namespace

bool is_refusal(const Problem& problem) {
  return problem.place == refusal_place;
}

Result<Certified> certified_serial(const ports::RecordStore& record, const std::string& serial) {
  auto evidence = review::collect(record, serial, review::Traces::without);
  if (!evidence) return evidence.problem();
  if (auto problem = not_certifiable(evidence.value())) return *problem;
  Certified out;
  add(out, std::move(evidence).value());
  return out;
}

Result<Certified> certified_job(const ports::RecordStore& record, const std::string& job) {
  if (job.empty()) return refuse("no name", "the job of a fitting on record");
  const auto rows = rows_of_job(record, job);
  if (!rows) return rows.problem();
  if (rows.value().empty()) return refuse(quantity::as_written(job), "the job of a fitting on record");
  Certified out;
  out.job = job;
  for (const auto& row : rows.value()) {
    if (row.stage != "released") {
      out.not_released.push_back(row);
      continue;
    }
    auto evidence = review::collect(record, row.serial, review::Traces::without);
    if (!evidence) return evidence.problem();
    if (auto problem = not_certifiable(evidence.value())) return *problem;
    add(out, std::move(evidence).value());
  }
  if (out.fittings.empty())
    return refuse(fmt::format("job {} with {} fittings, none of them released", quantity::as_written(job),
                              rows.value().size()),
                  "a job with a released fitting: only what was released can be certified");
  return out;
}

}  // namespace shankwright::papers
