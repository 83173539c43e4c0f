#include <cairo.h>

#include <array>
#include <cmath>
#include <cstring>
#include <memory>
#include <stdexcept>

#include "label/layout.hpp"
#include "typeset/pdf_file.hpp"

// The label drawn by cairo: the same for a page and for a picture of dots.
namespace shankwright::label {
namespace {

constexpr double points_per_mm = 72 / 25.4, dots_per_mm = 600 / 25.4;

/// On a context whose unit is a point.
void draw(cairo_t* onto, const typeset::Typesetter& typesetter, const Layout& layout) {
  cairo_save(onto);
  cairo_scale(onto, points_per_mm, points_per_mm);
  cairo_set_antialias(onto, CAIRO_ANTIALIAS_NONE);
  cairo_set_source_rgb(onto, 0, 0, 0);
  const auto& matrix = layout.matrix;
  for (std::size_t row = 0; row < matrix.side; ++row)
    for (std::size_t column = 0; column < matrix.side; ++column)
      if (matrix.at(row, column))
        cairo_rectangle(onto, layout.matrix_left_mm + layout.module_mm * static_cast<double>(column),
                        layout.matrix_top_mm + layout.module_mm * static_cast<double>(row), layout.module_mm,
                        layout.module_mm);
  cairo_fill(onto);
  for (const auto& line : layout.lines)
    if (line.inverse) {
      cairo_rectangle(onto, layout.text_left_mm - 0.2, line.top,
                      layout.text_right_mm - layout.text_left_mm + 0.4, line.size_mm * 1.35);
      cairo_fill(onto);
    }
  cairo_restore(onto);
  for (const auto& line : layout.lines) {
    const typeset::Style style{.size = line.size_mm * points_per_mm,
                               .bold = line.bold,
                               .colour = line.inverse ? typeset::Colour{1, 1, 1} : typeset::Colour{0, 0, 0}};
    typeset::Words(typesetter, line.text, style, 0)
        .draw(onto, line.x * points_per_mm, line.top * points_per_mm);
  }
}

cairo_status_t append(void* into, const unsigned char* bytes, unsigned int count) {
  static_cast<std::string*>(into)->append(reinterpret_cast<const char*>(bytes), count);
  return CAIRO_STATUS_SUCCESS;
}

std::uint32_t crc32(std::string_view bytes) {  // ISO/IEC 15948, annex D
  std::uint32_t crc = 0xFFFFFFFFU;
  for (const char byte : bytes) {
    crc ^= static_cast<std::uint8_t>(byte);
    for (int bit = 0; bit < 8; ++bit) crc = (crc >> 1U) ^ ((crc & 1U) != 0 ? 0xEDB88320U : 0U);
  }
  return ~crc;
}

std::string big_endian(std::uint32_t value) {
  std::string out;
  for (unsigned shift = 32; shift > 0; shift -= 8) out += static_cast<char>((value >> (shift - 8)) & 0xFFU);
  return out;
}

/// cairo does not say how many dots there are to a metre; without it a printer guesses the size. A pHYs chunk
/// (ISO/IEC 15948, 11.3.5.3) behind the header.
std::string with_resolution(std::string png) {
  constexpr std::size_t behind_header = 8 + 25;
  const auto per_metre = static_cast<std::uint32_t>(std::lround(dots_per_mm * 1000));
  const std::string chunk = "pHYs" + big_endian(per_metre) + big_endian(per_metre) + '\x01';
  return png.insert(behind_header, big_endian(9) + chunk + big_endian(crc32(chunk)));
}

}  // namespace

Result<std::string> to_png(const Label& label, const LabelSize& size) {
  const typeset::Typesetter typesetter;
  auto laid = lay_out(typesetter, label, size);
  if (!laid) return laid.problem();
  auto layout = std::move(laid).value();
  // On whole dots, so that every module is as wide as the next.
  layout.matrix_top_mm = std::round(layout.matrix_top_mm * dots_per_mm) / dots_per_mm;
  const std::unique_ptr<cairo_surface_t, void (*)(cairo_surface_t*)> surface(
      cairo_image_surface_create(CAIRO_FORMAT_RGB24,
                                 static_cast<int>(std::lround(size.width_mm * dots_per_mm)),
                                 static_cast<int>(std::lround(size.height_mm * dots_per_mm))),
      cairo_surface_destroy);
  const std::unique_ptr<cairo_t, void (*)(cairo_t*)> context(cairo_create(surface.get()), cairo_destroy);
  cairo_set_source_rgb(context.get(), 1, 1, 1);
  cairo_paint(context.get());
  cairo_scale(context.get(), dots_per_mm / points_per_mm, dots_per_mm / points_per_mm);
  draw(context.get(), typesetter, layout);
  std::string bytes;
  if (cairo_surface_write_to_png_stream(surface.get(), append, &bytes) != CAIRO_STATUS_SUCCESS)
    throw std::runtime_error("the picture could not be encoded");
  return with_resolution(std::move(bytes));
}

Result<std::string> to_pdf(const Label& label, const LabelSize& size, std::int64_t created_utc_us) {
  const typeset::Typesetter typesetter;
  const auto laid = lay_out(typesetter, label, size);
  if (!laid) return laid.problem();
  typeset::PdfFile file(size.width_mm * points_per_mm, size.height_mm * points_per_mm,
                        "Label of " + label.serial, "Label of one fitting", created_utc_us);
  draw(file.context(), typesetter, laid.value());
  file.end_page();
  return file.finish();
}

}  // namespace shankwright::label
