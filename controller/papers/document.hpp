#pragma once
#include <cstdint>
#include <functional>
#include <string>

#include "papers/sheet.hpp"

namespace shankwright::papers {

struct DocumentSettings {
  PageSize size;
  std::string title, subject;  ///< of the file
  std::int64_t created_utc_us = 0;
  Running running;
};

/// The PDF file. `fill` is called twice with a sheet to fill, once to count the pages and once to draw them,
/// and must do the same both times.
[[nodiscard]] std::string document_pdf(const DocumentSettings& settings,
                                       const std::function<void(Sheet&)>& fill);

}  // namespace shankwright::papers
