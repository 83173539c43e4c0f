#pragma once
#include <cairo.h>

#include <cstdint>
#include <string>

namespace shankwright::typeset {

/// A PDF document in memory. Its fonts are embedded, and the same pages with the same instant give the same
/// bytes: nothing in it asks a clock. Throws std::runtime_error when cairo cannot go on (no memory).
class PdfFile {
 public:
  /// Page size in points; `created_utc_us` becomes the document's creation date.
  PdfFile(double width, double height, const std::string& title, const std::string& subject,
          std::int64_t created_utc_us);
  ~PdfFile();
  PdfFile(const PdfFile&) = delete;
  PdfFile& operator=(const PdfFile&) = delete;

  [[nodiscard]] cairo_t* context() const { return context_; }
  void end_page();
  /// The whole file; nothing can be drawn any more.
  [[nodiscard]] std::string finish();

 private:
  std::string bytes_;
  cairo_surface_t* surface_;
  cairo_t* context_;
};

}  // namespace shankwright::typeset
