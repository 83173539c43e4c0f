#pragma once
#include <filesystem>
#include <memory>
#include <mutex>

#include "ports/review_port.hpp"

namespace shankwright::record {
class SqliteStore;
}

/// A reviewer's questions over the record's files, on connections of their own (ports/review_port.hpp).
namespace shankwright::inspection {

/// Entries of the kind "verification", event "verified", tell who had the record verified and what came of
/// it.
inline constexpr const char* verification_kind = "verification";

class Inspection final : public ports::ReviewPort {
 public:
  /// `folder` is the store's data folder. Both must outlive it.
  Inspection(record::SqliteStore& store, std::filesystem::path folder, const ports::Clock& clock);
  ~Inspection() override;  ///< breaks off a verification that is running

  [[nodiscard]] Result<std::int64_t> each_fitting(
      const ports::FittingFilter& filter,
      const std::function<bool(const ports::FittingRow&)>& visit) const override;
  [[nodiscard]] Result<std::vector<std::string>> serials_near(const std::string& typed,
                                                              std::size_t most) const override;
  [[nodiscard]] ports::Verification verification() const override;
  [[nodiscard]] bool verify_whole(const std::string& actor) override;
  [[nodiscard]] Result<ports::DossierProof> prove(const std::string& serial) const override;

 private:
  class Verifier;
  record::SqliteStore& store_;
  std::filesystem::path folder_;
  std::unique_ptr<Verifier> verifier_;
  mutable std::timed_mutex
      proving_;  ///< one at a time: anybody may ask, and the press needs the processor too
};

}  // namespace shankwright::inspection
