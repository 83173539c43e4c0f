#pragma once
#include <cairo.h>

#include <memory>
#include <string_view>

#include "figures/chart.hpp"

struct _PangoContext;  // NOLINT(bugprone-reserved-identifier): as Pango names its own
struct _PangoLayout;   // NOLINT(bugprone-reserved-identifier)

/// Text on paper: measured before it is drawn, wrapped at any place where a word is too long for its line.
namespace shankwright::typeset {

using figures::Colour;
namespace colour = figures::colour;

enum class Align : unsigned char { left, middle, right };

struct Style {
  double size = 8.5;  ///< points
  bool bold = false;
  bool mono = false;  ///< codes: every character as wide as the next
  Colour colour = colour::ink;
  Align align = Align::left;
  bool one_line = false;  ///< what does not fit its width ends in an ellipsis
};

/// Makes words for one document or picture: DejaVu Sans, unhinted, so that the same text takes the same room
/// on every surface. Belongs to one thread.
class Typesetter {
 public:
  Typesetter();
  ~Typesetter();
  Typesetter(const Typesetter&) = delete;
  Typesetter& operator=(const Typesetter&) = delete;
  [[nodiscard]] _PangoContext* context() const { return context_; }

 private:
  _PangoContext* context_;
};

/// A text laid out. What it is given goes through harmless() first, so nothing in it can break a line, leave
/// its box or say what is not there.
class Words {
 public:
  /// Wrapped within `width` points; 0 for one line as long as it comes.
  Words(const Typesetter& typesetter, std::string_view text, const Style& style, double width);

  [[nodiscard]] int lines() const;
  [[nodiscard]] double width() const;   ///< of the longest line
  [[nodiscard]] double height() const;  ///< of all lines
  [[nodiscard]] double line_height() const { return line_height_; }
  /// Upper left corner at (x, y); only lines [first, first + count).
  void draw(cairo_t* onto, double x, double y, int first = 0, int count = 1'000'000) const;

 private:
  struct LayoutEnd {
    void operator()(_PangoLayout* layout) const;
  };
  std::unique_ptr<_PangoLayout, LayoutEnd> layout_;
  Style style_;
  double box_width_ = 0, line_height_ = 0;
};

}  // namespace shankwright::typeset
