#pragma once
#include <filesystem>

#include "ports/review_port.hpp"

namespace shankwright::inspection {

/// Computes anew every hash of the chain from the fitting's first entry to the seal over its last (to the
/// last where there is no seal), and checks the seal's signature with the record's own key.
[[nodiscard]] Result<ports::DossierProof> prove_dossier(const std::filesystem::path& record_file,
                                                        const ports::RecordStore& store,
                                                        const std::string& serial);

/// More of the chain than this is not walked while somebody waits; a verification of the whole record is.
inline constexpr std::int64_t entries_walked_most = 50'000;

}  // namespace shankwright::inspection
