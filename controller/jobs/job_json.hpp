#pragma once
#include <nlohmann/json_fwd.hpp>
#include <string>
#include <vector>

#include "library/library.hpp"
#include "planning/plan.hpp"
#include "quantity/result.hpp"

namespace shankwright::jobs {

/// A job as the page and other programs send it: the keys of a job file (recipes/README.md, Job) as JSON, the
/// same checks, and each fault at its place as a JSON pointer (RFC 6901). Of a missing key that is where it
/// should stand.
struct ReadJob {
  planning::Job job;  ///< whole only without faults
  std::vector<Problem> faults;
};
[[nodiscard]] ReadJob read_job(const nlohmann::json& body, const library::Library& library);

/// "/assemblies/0/ends/1/recipe" of a plan's path "assemblies[0].ends[1].recipe".
[[nodiscard]] std::string pointer_of(const std::string& path);

}  // namespace shankwright::jobs
