#pragma once
#include <cstdint>
#include <string>
#include <string_view>
#include <vector>

#include "ports/ports.hpp"
#include "quantity/result.hpp"
#include "quantity/unit_system.hpp"

/// A label for one fitting: its bare serial as a Data Matrix, and words for people beside it.
namespace shankwright::label {

struct LabelSize {
  double width_mm = 30, height_mm = 15;
};

/// "30mmx15mm", "1.2 in x 0.6 in": width and height with their units.
[[nodiscard]] Result<LabelSize> parse_size(std::string_view text);

struct Label {
  std::string serial;              ///< as people read it; the symbol has it without hyphens
  std::vector<std::string> lines;  ///< rope and bore, job, day
  std::string warning;             ///< what must not be overlooked; empty for a released fitting
};

/// Rope construction and diameter, the terminal's bore, the job, and the day of release (UTC). A fitting that
/// is not released carries its state in place of the day: a label must never make a held or scrapped one look
/// ready.
[[nodiscard]] Label label_of(const ports::FittingRow& row, quantity::UnitSystem units);

/// The finished file. Problem for a size too small to be read: modules of the symbol under 0.25 mm, or no
/// room for the serial in letters at least 1 mm high.
[[nodiscard]] Result<std::string> to_svg(const Label& label, const LabelSize& size);
[[nodiscard]] Result<std::string> to_png(const Label& label, const LabelSize& size);  ///< 600 dots an inch
[[nodiscard]] Result<std::string> to_pdf(const Label& label, const LabelSize& size,
                                         std::int64_t created_utc_us);

}  // namespace shankwright::label
