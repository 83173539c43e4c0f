#pragma once
#include <cstdint>
#include <filesystem>
#include <map>
#include <mutex>
#include <optional>
#include <string>
#include <vector>

#include "library/library.hpp"
#include "ports/ports.hpp"
#include "trial/report.hpp"

/// Drafts of recipe revisions, from a trial to their release. A draft's text is on record, so that nobody can
/// change it unseen between the trial and the release. Kind "recipe", events "recipe_drafted",
/// "recipe_released", "draft_dropped".
namespace shankwright::workshop {

inline constexpr const char* recipe_kind = "recipe";

struct Draft {
  enum class Now { waiting, released, dropped };
  std::string id;  ///< "recipe.rREVISION"
  std::string recipe;
  std::uint32_t revision = 0;
  std::string text;  ///< YAML, status draft
  std::string made_by;
  std::int64_t made_utc_us = 0;
  std::uint64_t seed = 0;  ///< of the trial
  std::size_t fittings = 0;
  double target_kn = 0;
  double rejected_share = 0;
  Now now = Now::waiting;
  std::string ended_by, reason;  ///< released or dropped
  std::int64_t ended_utc_us = 0;
};
[[nodiscard]] const char* name_of(Draft::Now now);

/// One value that differs.
struct Change {
  std::string
      what;  ///< member of the recipe, dotted, unit last: "target_force_kn", "envelope.0.1.force_kn.least"
  std::string was, becomes;  ///< as JSON; "" where it is not there
};

/// Against the library's recipe of that id; nothing to compare with where there is none.
struct DraftLook {
  std::optional<std::uint32_t> against_revision;
  std::vector<Change> changes;
  std::vector<Problem> faults, warnings;  ///< of the library's own check
};

class Drafts {
 public:
  Drafts(ports::RecordStore& record, const library::Library& library, std::filesystem::path library_folder,
         const ports::Clock& clock)
      : record_(record), library_(library), folder_(std::move(library_folder)), clock_(clock) {}

  /// Oldest first, ended ones among them.
  [[nodiscard]] Result<std::vector<Draft>> all() const;
  [[nodiscard]] DraftLook look(const Draft& draft) const;

  /// The next revision with what the trial recommends, on record. A Problem with the place "trial" where it
  /// recommends nothing.
  [[nodiscard]] Result<Draft> make(const trial::Report& report, const std::string& by);
  /// Puts the release on record and the file into the library, where the next start of a station finds it. A
  /// Problem with the place "draft" where there is none of this id that waits, "person" where `by` made it,
  /// "text" where the library's check finds a fault, "file" where the file cannot be written; another place
  /// for a fault of the record.
  [[nodiscard]] Result<Draft> release(const std::string& id, const std::string& reason,
                                      const std::string& by);
  /// Takes it off the list. Problem "draft" as above.
  [[nodiscard]] Result<Draft> drop(const std::string& id, const std::string& reason, const std::string& by);

 private:
  [[nodiscard]] std::optional<Problem> catch_up() const;
  [[nodiscard]] Result<Draft> waiting(const std::string& id) const;
  [[nodiscard]] std::uint32_t next_revision(const std::string& recipe) const;
  [[nodiscard]] Result<std::int64_t> append(const char* event, std::string body, const std::string& by);

  ports::RecordStore& record_;
  const library::Library& library_;
  const std::filesystem::path folder_;
  const ports::Clock& clock_;
  mutable std::mutex mutex_;
  mutable std::int64_t read_to_ = 0;
  mutable std::vector<Draft> drafts_;
};

}  // namespace shankwright::workshop
