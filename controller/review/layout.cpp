#include "review/layout.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>

namespace shankwright::review {

std::size_t width(std::string_view text) {
  return static_cast<std::size_t>(
      std::count_if(text.begin(), text.end(), [](char byte) { return (byte & 0xC0) != 0x80; }));
}

std::string shown(std::string_view text) {
  std::string out(text);
  for (auto& byte : out)
    if (static_cast<unsigned char>(byte) < 0x20 || byte == 0x7f) byte = '?';
  return out;
}

std::string columns(const std::vector<std::vector<std::string>>& rows, std::string_view indent) {
  std::vector<std::size_t> widths;
  for (const auto& row : rows) {
    widths.resize(std::max(widths.size(), row.size()));
    for (std::size_t column = 0; column < row.size(); ++column)
      widths[column] = std::max(widths[column], width(shown(row[column])));
  }
  std::string out;
  for (const auto& row : rows) {
    std::string line(indent);
    for (std::size_t column = 0; column < row.size(); ++column) {
      const auto cell = shown(row[column]);
      line += cell + std::string(widths[column] - width(cell) + 2, ' ');
    }
    line.erase(line.find_last_not_of(' ') + 1);
    out += line + "\n";
  }
  return out;
}

std::string wrapped(std::string_view text, std::string_view indent, std::size_t most_columns) {
  const auto clean = shown(text);
  std::string out, line;
  std::size_t start = 0;
  while (start <= clean.size()) {
    const auto end = std::min(clean.find(' ', start), clean.size());
    const auto word = std::string_view(clean).substr(start, end - start);
    start = end + 1;
    if (word.empty()) continue;
    if (!line.empty() && width(indent) + width(line) + 1 + width(word) > most_columns) {
      out += std::string(indent) + line + "\n";
      line.clear();
    }
    line += (line.empty() ? "" : " ") + std::string(word);
  }
  return line.empty() ? out : out + std::string(indent) + line + "\n";
}

std::string number_text(double value) {
  auto out = fmt::format("{:.3f}", value);
  if (out.find('.') == std::string::npos) return out;  // "nan", "inf"
  out.erase(out.find_last_not_of('0') + 1);
  if (out.back() == '.') out.pop_back();
  return out == "-0" ? "0" : out;
}

std::string bars(const std::vector<double>& values) {
  static constexpr std::array<std::string_view, 9> blocks{" ", "▁", "▂", "▃", "▄", "▅", "▆", "▇", "█"};
  const double most = values.empty() ? 0 : *std::max_element(values.begin(), values.end());
  if (!(most > 0)) return "";
  std::string out;
  for (const double value : values)
    out += blocks[static_cast<std::size_t>(std::lround(std::clamp(value / most, 0.0, 1.0) * 8))];
  return out;
}

}  // namespace shankwright::review
