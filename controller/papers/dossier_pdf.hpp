#pragma once
#include "papers/certificate.hpp"

namespace shankwright::papers {

/// All the evidence for one serial as pages, in any state it may be in: what `trace` shows, with every bite's
/// trace drawn. A fitting that no seal covers yet is marked NOT SEALED: a reviewer must be able to read it
/// all the same. A Problem whose place is "serial" says that there is no such fitting.
[[nodiscard]] Result<std::string> dossier_pdf(const ports::RecordStore& record, const std::string& serial,
                                              const PaperOptions& options);

}  // namespace shankwright::papers
