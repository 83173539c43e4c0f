#include "jobs/progress.hpp"

#include <algorithm>
#include <utility>

namespace shankwright::jobs {
namespace {

LineProgress& line(Progress& out, const std::string& mark, const std::string& recipe,
                   const std::string& job_text) {
  for (auto& known : out.lines)
    if (known.mark == mark && known.recipe == recipe) return known;
  return out.lines.emplace_back(LineProgress{mark, recipe, job_text, {}});
}

void count(Tally& tally, const ports::FittingRow& row) {
  if (row.stage == "released")
    ++tally.released;
  else if (row.verdict == "scrapped")
    ++tally.scrapped;
  else if (row.verdict == "held")
    ++tally.held;
  else if (row.verdict == "accepted" || row.verdict == "re-pressed")
    ++tally.accepted;
  else
    ++tally.under_way;
}

void add(Tally& whole, const Tally& part) {
  whole.wanted += part.wanted;
  whole.released += part.released;
  whole.accepted += part.accepted;
  whole.under_way += part.under_way;
  whole.held += part.held;
  whole.scrapped += part.scrapped;
}

/// Calls `visit` with every fitting begun for this very text.
template <typename Visit>
std::optional<Problem> each_of(const ports::RecordStore& record, const std::string& job_text,
                               const Visit& visit) {
  ports::FittingFilter filter;
  filter.job = job_text;
  filter.limit = 1000;
  while (true) {
    const auto found = record.find(filter);
    if (!found) return found.problem();
    for (const auto& row : found.value()) visit(row);
    if (found.value().size() < filter.limit) return std::nullopt;
    filter.after_serial = found.value().back().serial;
  }
}

}  // namespace

Result<Progress> progress_of(const planning::Job& job, const ports::RecordStore& record) {
  Progress out;
  for (const auto& assembly : job.assemblies)
    for (const auto& end : assembly.ends)
      if (end.making == planning::EndMaking::swaged)
        line(out, assembly.mark, end.recipe, job.id + "/" + assembly.mark).tally.wanted += assembly.quantity;
  std::vector<std::string> recipes;
  for (const auto& known : out.lines)
    if (std::find(recipes.begin(), recipes.end(), known.recipe) == recipes.end())
      recipes.push_back(known.recipe);
  if (job.destructive_samples)
    for (const auto& recipe : recipes)
      line(out, samples_mark, recipe, job.id + "/" + samples_mark).tally.wanted +=
          2 * static_cast<std::int64_t>(job.destructive_samples->per_recipe);

  std::vector<std::string> marks;
  for (const auto& known : out.lines)
    if (std::find(marks.begin(), marks.end(), known.mark) == marks.end()) marks.push_back(known.mark);
  for (const auto& mark : marks) {
    const auto text = job.id + "/" + mark;
    // A recipe that the line did not ask for still was made for it, and shows beside the others.
    if (auto problem = each_of(record, text, [&](const ports::FittingRow& row) {
          count(line(out, mark, row.recipe_id, text).tally, row);
        }))
      return *problem;
  }
  if (auto problem = each_of(record, job.id, [&](const ports::FittingRow& row) {
        std::vector<LineProgress*> wanting;
        for (auto& known : out.lines)
          if (known.recipe == row.recipe_id && known.tally.wanted > 0) wanting.push_back(&known);
        count(wanting.size() == 1 ? wanting.front()->tally : line(out, "", row.recipe_id, job.id).tally, row);
      }))
    return *problem;
  for (const auto& known : out.lines) add(out.whole, known.tally);
  return out;
}

}  // namespace shankwright::jobs
