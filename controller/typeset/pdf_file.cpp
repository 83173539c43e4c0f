#include "typeset/pdf_file.hpp"

#include <cairo-pdf.h>

#include <array>
#include <chrono>
#include <cstdio>
#include <stdexcept>

#include "typeset/harmless.hpp"

namespace shankwright::typeset {
namespace {

cairo_status_t append(void* into, const unsigned char* bytes, unsigned int count) {
  static_cast<std::string*>(into)->append(reinterpret_cast<const char*>(bytes), count);
  return CAIRO_STATUS_SUCCESS;
}

std::string iso_instant(std::int64_t utc_us) {
  using namespace std::chrono;
  const sys_time<microseconds> instant{microseconds(utc_us)};
  const auto day = floor<days>(instant);
  const year_month_day date{day};
  const hh_mm_ss time{floor<seconds>(instant - day)};
  std::array<char, 64> out{};
  std::snprintf(out.data(), out.size(), "%04d-%02u-%02uT%02d:%02d:%02dZ", static_cast<int>(date.year()),
                static_cast<unsigned>(date.month()), static_cast<unsigned>(date.day()),
                static_cast<int>(time.hours().count()), static_cast<int>(time.minutes().count()),
                static_cast<int>(time.seconds().count()));
  return out.data();
}

}  // namespace

PdfFile::PdfFile(double width, double height, const std::string& title, const std::string& subject,
                 std::int64_t created_utc_us)
    : surface_(cairo_pdf_surface_create_for_stream(append, &bytes_, width, height)),
      context_(cairo_create(surface_)) {
  cairo_pdf_surface_restrict_to_version(surface_, CAIRO_PDF_VERSION_1_5);
  cairo_pdf_surface_set_metadata(surface_, CAIRO_PDF_METADATA_TITLE, harmless(title).c_str());
  cairo_pdf_surface_set_metadata(surface_, CAIRO_PDF_METADATA_SUBJECT, harmless(subject).c_str());
  cairo_pdf_surface_set_metadata(surface_, CAIRO_PDF_METADATA_CREATOR, "Shankwright");
  cairo_pdf_surface_set_metadata(surface_, CAIRO_PDF_METADATA_CREATE_DATE,
                                 iso_instant(created_utc_us).c_str());
}

PdfFile::~PdfFile() {
  cairo_destroy(context_);
  cairo_surface_destroy(surface_);
}

void PdfFile::end_page() {
  cairo_show_page(context_);
}

std::string PdfFile::finish() {
  cairo_surface_finish(surface_);
  if (const auto status = cairo_surface_status(surface_); status != CAIRO_STATUS_SUCCESS)
    throw std::runtime_error(cairo_status_to_string(status));
  if (const auto status = cairo_status(context_);
      status != CAIRO_STATUS_SUCCESS && status != CAIRO_STATUS_SURFACE_FINISHED)
    throw std::runtime_error(cairo_status_to_string(status));
  return std::move(bytes_);
}

}  // namespace shankwright::typeset
