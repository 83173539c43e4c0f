#pragma once
#include <filesystem>
#include <vector>

#include "library/library.hpp"
#include "library/node.hpp"
#include "library/reader.hpp"
#include "planning/job.hpp"
#include "planning/plan.hpp"

/// A planner's job file. Its keys are explained in recipes/README.md.
namespace shankwright::library {

struct JobResult {
  planning::Job job;  ///< whole only without faults
  Places places;
  std::vector<Problem> faults;
  bool unreadable = false;  ///< the file could not be read at all; the one fault says why
};

/// Reads a job and looks up what it names.
[[nodiscard]] JobResult load_job(const std::filesystem::path& file, const Library& library);

/// Without a library, what it names is not looked up.
[[nodiscard]] planning::Job read_job(const Node& root, const Library* library, FaultList& faults,
                                     Places& places);

/// The library as a plan needs it: every recipe that can be joined.
[[nodiscard]] planning::Parts parts_of(const Library& library);

/// Where in the file a path of the job stands ("assemblies[0].ends[1].recipe"); of a map, its first key; of
/// what the file does not say, what holds it.
[[nodiscard]] Place place_in_job(const Places& places, std::string path);

}  // namespace shankwright::library
