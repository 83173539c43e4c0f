#pragma once
#include <cstdint>
#include <string>
#include <vector>

#include "papers/sheet.hpp"
#include "papers/words_of.hpp"
#include "ports/ports.hpp"
#include "quantity/result.hpp"

/// A paper that goes with released fittings: what they are, what was measured, and how to hold the record
/// against it.
namespace shankwright::papers {

/// What a certificate is made from, read from the record at one moment.
struct Certified {
  std::string job;                              ///< empty where the certificate is for one serial
  std::vector<review::Evidence> fittings;       ///< released and sealed ones, by serial
  std::vector<ports::FittingRow> not_released;  ///< the rest of the job, which it does not cover
  ports::Seal seal;                             ///< the newest of their seals, which covers them all
};

/// Whether a Problem says that there is nothing to certify (not released, not sealed, no such job), and not
/// that the record failed or the serial is unknown.
[[nodiscard]] bool is_refusal(const Problem& problem);

/// An unreleased fitting is refused. So is one that no seal covers yet: this paper leaves the shop, and
/// without a code nobody could ever hold the record against it. The station seals at every release, at shift
/// end and at its start, so the next one mends it.
[[nodiscard]] Result<Certified> certified_serial(const ports::RecordStore& record, const std::string& serial);
/// Every released fitting of the job; the others are named as not covered.
[[nodiscard]] Result<Certified> certified_job(const ports::RecordStore& record, const std::string& job);

struct PaperOptions {
  UnitSystem units = UnitSystem::metric;
  PageSize size;
  std::int64_t issued_utc_us = 0;  ///< the same record, options and instant give the same bytes
};

[[nodiscard]] std::string certificate_pdf(const Certified& certified, const PaperOptions& options);

/// Said on every paper, short enough for one line of its foot.
inline constexpr auto caution_line =
    "Shankwright is not a safety function. The makers' instructions, local codes and a competent person come "
    "first.";

}  // namespace shankwright::papers
