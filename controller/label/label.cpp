#include "label/label.hpp"

#include <fmt/format.h>

#include <algorithm>

#include "quantity/as_written.hpp"
#include "quantity/quantity.hpp"
#include "review/evidence.hpp"
#include "review/time.hpp"

namespace shankwright::label {
namespace {

using review::Json;

// Between what a small part can carry and a sheet that holds it.
constexpr double least_mm = 8, most_mm = 200;

std::string warning_of(const ports::FittingRow& row) {
  if (row.stage == "released") return "";
  if (row.stage == "scrapped") return "SCRAPPED - DO NOT USE";
  if (row.stage == "hold") return "ON HOLD - DO NOT USE";
  return "NOT RELEASED - DO NOT USE";
}

}  // namespace

Result<LabelSize> parse_size(std::string_view text) {
  const Problem problem{
      "", quantity::as_written(text),
      fmt::format("width and height with units, {:.0f} to {:.0f} mm each, for example 30mmx15mm", least_mm,
                  most_mm)};
  const auto cross = text.find('x');
  if (cross == std::string_view::npos) return problem;
  const auto width = quantity::parse_length_mm(text.substr(0, cross));
  const auto height = quantity::parse_length_mm(text.substr(cross + 1));
  if (!width || !height) return problem;
  const LabelSize size{width.value(), height.value()};
  if (std::min(size.width_mm, size.height_mm) < least_mm || std::max(size.width_mm, size.height_mm) > most_mm)
    return problem;
  return size;
}

Label label_of(const ports::FittingRow& row, quantity::UnitSystem units) {
  Label label;
  label.serial = row.serial;
  label.warning = warning_of(row);
  const auto recipe = Json::parse(row.joined_recipe_json, nullptr, false);
  const auto diameter = review::number_at(recipe, {"rope", "nominal_diameter_mm"});
  const auto bore = review::number_at(recipe, {"terminal", "bore_diameter_mm"});
  const auto construction = review::text_at(recipe, {"rope", "construction"});
  std::string rope = "rope";
  if (!construction.empty()) rope += " " + construction;
  if (diameter) rope += " " + quantity::length_text(*diameter, units);
  label.lines.push_back(std::move(rope));
  if (bore) label.lines.push_back("bore " + quantity::length_text(*bore, units));
  if (!row.job.empty()) label.lines.push_back("job " + row.job);
  if (label.warning.empty()) label.lines.push_back(review::utc_text(row.changed_utc_us, 0).substr(0, 10));
  return label;
}

}  // namespace shankwright::label
