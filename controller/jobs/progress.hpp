#pragma once
#include <cstdint>
#include <string>
#include <vector>

#include "planning/job.hpp"
#include "ports/ports.hpp"
#include "quantity/result.hpp"

/// How far a job is: swaged ends wanted against fittings on record. What a fitting was begun for is the text
/// that its operator gave: "JOB/MARK" belongs to that line; the job's id alone to the only line that wants
/// its recipe, and where several do, to none in particular.
namespace shankwright::jobs {

struct Tally {
  std::int64_t wanted = 0;
  std::int64_t released = 0;
  std::int64_t accepted = 0;  ///< and not yet released
  std::int64_t under_way = 0;
  std::int64_t held = 0;
  std::int64_t scrapped = 0;
};

struct LineProgress {
  std::string mark;  ///< of the line; "samples" for specimens to be pulled; empty: of no line in particular
  std::string recipe;
  std::string job_text;  ///< what an operator begins its fittings for
  Tally tally;
};

struct Progress {
  std::vector<LineProgress> lines;  ///< in the job's order; only lines with swaged ends
  Tally whole;
};

/// The mark under which specimens for destructive pulling are begun: "JOB/samples".
inline constexpr const char* samples_mark = "samples";

[[nodiscard]] Result<Progress> progress_of(const planning::Job& job, const ports::RecordStore& record);

}  // namespace shankwright::jobs
