#pragma once
#include <cstdint>
#include <map>
#include <mutex>
#include <optional>
#include <string>
#include <vector>

#include "planning/plan.hpp"
#include "ports/ports.hpp"
#include "quantity/result.hpp"

/// Jobs as they stand on record. Entries of the station itself, kind "job": one for each job entered, changed
/// or withdrawn, with the whole job in it, so that what was planned when is kept like any other evidence,
/// sealed, copied and archived with the rest.
namespace shankwright::jobs {

inline constexpr const char* job_kind = "job";  ///< events "job_entered", "job_changed", "job_withdrawn"

struct Cut {
  std::string mark;
  double cut_length_mm = 0;
};

struct KeptJob {
  std::string id;
  std::string body_json;  ///< the job as it was sent
  std::string entered_by, changed_by;
  std::int64_t entered_utc_us = 0, changed_utc_us = 0;
  std::int64_t sequence = 0;  ///< of its newest entry
  std::vector<Cut> cuts;      ///< as computed when it was entered or changed
  bool withdrawn = false;     ///< nothing more is to be made of it
  std::string reason;         ///< of the withdrawal
};

/// Any thread may call. One book for each record: what was read once is remembered.
class JobBook {
 public:
  JobBook(ports::RecordStore& record, const ports::Clock& clock) : record_(record), clock_(clock) {}

  /// Newest first, withdrawn ones among them.
  [[nodiscard]] Result<std::vector<KeptJob>> all() const;
  [[nodiscard]] Result<std::optional<KeptJob>> find(const std::string& id) const;

  /// Puts a planned job on record. A Problem with the place "/id" where the id is taken already (also by a
  /// withdrawn job: fittings may name it), any other place for a fault of the record.
  [[nodiscard]] Result<KeptJob> enter(const planning::Job& job, const planning::Plan& plan,
                                      const std::string& body_json, const std::string& actor);
  /// Puts a changed job in place of the one whose newest entry is `of_sequence`; a Problem with the place
  /// "/of" where that is no longer the newest, or the job is withdrawn.
  [[nodiscard]] Result<KeptJob> change(const planning::Job& job, const planning::Plan& plan,
                                       const std::string& body_json, std::int64_t of_sequence,
                                       const std::string& actor);
  /// A Problem with the place "job" where there is none, or it is withdrawn already.
  [[nodiscard]] Result<KeptJob> withdraw(const std::string& id, const std::string& reason,
                                         const std::string& actor);

 private:
  [[nodiscard]] std::optional<Problem> catch_up() const;
  [[nodiscard]] Result<KeptJob> append(const std::string& id, const char* event, std::string body,
                                       const std::string& actor);

  ports::RecordStore& record_;
  const ports::Clock& clock_;
  mutable std::mutex mutex_;
  mutable std::int64_t read_to_ = 0;
  mutable std::map<std::string, KeptJob> jobs_;
};

}  // namespace shankwright::jobs
