#include "jobs/job_book.hpp"

#include <algorithm>
#include <nlohmann/json.hpp>

namespace shankwright::jobs {
namespace {

using Json = nlohmann::ordered_json;

std::string body_of(const planning::Plan& plan, const std::string& body_json) {
  Json cuts = Json::array();
  for (const auto& planned : plan.assemblies)
    cuts.push_back({{"mark", planned.assembly.mark}, {"cut_length_mm", planned.account.cut_length_mm}});
  return Json{{"job", Json::parse(body_json)}, {"cuts", cuts}}.dump(-1, ' ', false,
                                                                    Json::error_handler_t::replace);
}

/// What one entry makes of the jobs before it. An entry that does not read as one of ours changes nothing.
void follow(std::map<std::string, KeptJob>& jobs, const ports::StoredEntry& stored) {
  const auto body = Json::parse(stored.entry.body_json, nullptr, false);
  if (!body.is_object()) return;
  if (stored.entry.event == "job_withdrawn") {
    const auto found = jobs.find(body.value("id", std::string()));
    if (found == jobs.end()) return;
    found->second.withdrawn = true;
    found->second.reason = body.value("reason", std::string());
    found->second.changed_by = stored.entry.actor;
    found->second.changed_utc_us = stored.entry.at_utc_us;
    found->second.sequence = stored.sequence;
    return;
  }
  const auto job = body.find("job");
  if (job == body.end() || !job->is_object()) return;
  KeptJob kept;
  kept.id = job->value("id", std::string());
  kept.body_json = job->dump();
  kept.entered_by = kept.changed_by = stored.entry.actor;
  kept.entered_utc_us = kept.changed_utc_us = stored.entry.at_utc_us;
  kept.sequence = stored.sequence;
  for (const auto& cut : body.value("cuts", Json::array()))
    if (cut.is_object())
      kept.cuts.push_back({cut.value("mark", std::string()), cut.value("cut_length_mm", 0.0)});
  if (const auto before = jobs.find(kept.id); before != jobs.end()) {
    kept.entered_by = before->second.entered_by;
    kept.entered_utc_us = before->second.entered_utc_us;
  }
  jobs[kept.id] = std::move(kept);
}

}  // namespace

std::optional<Problem> JobBook::catch_up() const {
  const auto entries = record_.entries_of_kind(job_kind, read_to_);
  if (!entries) return entries.problem();
  for (const auto& stored : entries.value()) {
    follow(jobs_, stored);
    read_to_ = std::max(read_to_, stored.sequence);
  }
  return std::nullopt;
}

Result<std::vector<KeptJob>> JobBook::all() const {
  const std::lock_guard lock(mutex_);
  if (auto problem = catch_up()) return *problem;
  std::vector<KeptJob> out;
  for (const auto& [id, job] : jobs_) out.push_back(job);
  std::sort(out.begin(), out.end(),
            [](const KeptJob& left, const KeptJob& right) { return left.sequence > right.sequence; });
  return out;
}

Result<std::optional<KeptJob>> JobBook::find(const std::string& id) const {
  const std::lock_guard lock(mutex_);
  if (auto problem = catch_up()) return *problem;
  const auto found = jobs_.find(id);
  return found == jobs_.end() ? std::nullopt : std::optional(found->second);
}

Result<KeptJob> JobBook::append(const std::string& id, const char* event, std::string body,
                                const std::string& actor) {
  ports::NewEntry entry;
  entry.at_utc_us = clock_.utc_us();
  entry.kind = job_kind;
  entry.event = event;
  entry.actor = actor;
  entry.body_json = std::move(body);
  if (const auto kept = record_.append({entry}); !kept) return kept.problem();
  if (auto problem = catch_up()) return *problem;
  return jobs_.at(id);
}

Result<KeptJob> JobBook::enter(const planning::Job& job, const planning::Plan& plan,
                               const std::string& body_json, const std::string& actor) {
  const std::lock_guard lock(mutex_);
  if (auto problem = catch_up()) return *problem;
  if (jobs_.contains(job.id))
    return Problem{"/id", job.id, "an id that no job has yet; changing a job is another request"};
  return append(job.id, "job_entered", body_of(plan, body_json), actor);
}

Result<KeptJob> JobBook::change(const planning::Job& job, const planning::Plan& plan,
                                const std::string& body_json, std::int64_t of_sequence,
                                const std::string& actor) {
  const std::lock_guard lock(mutex_);
  if (auto problem = catch_up()) return *problem;
  const auto found = jobs_.find(job.id);
  if (found == jobs_.end()) return Problem{"/id", job.id, "the id of a job on record"};
  if (found->second.withdrawn) return Problem{"/of", "a job that is withdrawn", "a job that is not"};
  if (found->second.sequence != of_sequence)
    return Problem{"/of", "entry " + std::to_string(of_sequence),
                   "entry " + std::to_string(found->second.sequence) + ": " + found->second.changed_by +
                       " has changed the job since; look at it and send the change again"};
  return append(job.id, "job_changed", body_of(plan, body_json), actor);
}

Result<KeptJob> JobBook::withdraw(const std::string& id, const std::string& reason,
                                  const std::string& actor) {
  const std::lock_guard lock(mutex_);
  if (auto problem = catch_up()) return *problem;
  const auto found = jobs_.find(id);
  if (found == jobs_.end()) return Problem{"job", id, "the id of a job on record"};
  if (found->second.withdrawn) return Problem{"job", id + ", withdrawn already", "a job that is not"};
  return append(id, "job_withdrawn",
                Json{{"id", id}, {"reason", reason}}.dump(-1, ' ', false, Json::error_handler_t::replace),
                actor);
}

}  // namespace shankwright::jobs
