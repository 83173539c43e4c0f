#include "typeset/words.hpp"

#include <pango/pangocairo.h>

#include <algorithm>
#include <cmath>
#include <string>

#include "typeset/harmless.hpp"

namespace shankwright::typeset {

Typesetter::Typesetter() : context_(pango_font_map_create_context(pango_cairo_font_map_get_default())) {
  pango_cairo_context_set_resolution(context_, 72);  // a point is a unit of the page
  cairo_font_options_t* const options = cairo_font_options_create();
  cairo_font_options_set_hint_style(options, CAIRO_HINT_STYLE_NONE);
  cairo_font_options_set_hint_metrics(options, CAIRO_HINT_METRICS_OFF);
  cairo_font_options_set_antialias(options, CAIRO_ANTIALIAS_GRAY);
  pango_cairo_context_set_font_options(context_, options);
  cairo_font_options_destroy(options);
  pango_context_set_round_glyph_positions(context_, FALSE);
  pango_context_set_base_dir(context_, PANGO_DIRECTION_LTR);
  pango_context_set_language(context_, pango_language_from_string("en"));
}

Typesetter::~Typesetter() {
  g_object_unref(context_);
}

void Words::LayoutEnd::operator()(_PangoLayout* layout) const {
  g_object_unref(layout);
}

Words::Words(const Typesetter& typesetter, std::string_view text, const Style& style, double width)
    : layout_(pango_layout_new(typesetter.context())), style_(style), box_width_(width) {
  PangoFontDescription* const font = pango_font_description_new();
  pango_font_description_set_family(font, style.mono ? "DejaVu Sans Mono" : "DejaVu Sans");
  pango_font_description_set_weight(font, style.bold ? PANGO_WEIGHT_BOLD : PANGO_WEIGHT_NORMAL);
  pango_font_description_set_absolute_size(font, style.size * PANGO_SCALE);
  pango_layout_set_font_description(layout_.get(), font);
  pango_font_description_free(font);
  // Ligatures off: a serial copied from the page must be the characters it was.
  PangoAttrList* const attributes = pango_attr_list_new();
  pango_attr_list_insert(attributes, pango_attr_font_features_new("liga=0, clig=0"));
  pango_layout_set_attributes(layout_.get(), attributes);
  pango_attr_list_unref(attributes);
  pango_layout_set_auto_dir(layout_.get(), FALSE);
  pango_layout_set_single_paragraph_mode(layout_.get(), TRUE);
  if (width > 0) {
    pango_layout_set_width(layout_.get(), static_cast<int>(std::floor(width * PANGO_SCALE)));
    pango_layout_set_wrap(layout_.get(), PANGO_WRAP_WORD_CHAR);
    if (style.one_line) pango_layout_set_ellipsize(layout_.get(), PANGO_ELLIPSIZE_END);
  }
  const std::string clean = harmless(text);
  pango_layout_set_text(layout_.get(), clean.data(), static_cast<int>(clean.size()));
  // One pitch for all lines, whatever script one of them holds: tall glyphs of a stand-in font do not push
  // the page about.
  line_height_ = style.size * 1.35;
}

int Words::lines() const {
  return std::max(1, pango_layout_get_line_count(layout_.get()));
}

double Words::width() const {
  int width = 0;
  pango_layout_get_size(layout_.get(), &width, nullptr);
  return static_cast<double>(width) / PANGO_SCALE;
}

double Words::height() const {
  return line_height_ * lines();
}

void Words::draw(cairo_t* onto, double x, double y, int first, int count) const {
  cairo_save(onto);
  cairo_set_source_rgba(onto, style_.colour.red, style_.colour.green, style_.colour.blue,
                        style_.colour.opacity);
  const int last = std::min(lines(), count < lines() - first ? first + count : lines());
  for (int index = first; index < last; ++index) {
    PangoLayoutLine* const line = pango_layout_get_line_readonly(layout_.get(), index);
    if (line == nullptr) break;
    PangoRectangle extents;
    pango_layout_line_get_extents(line, nullptr, &extents);
    const double wide = static_cast<double>(extents.width) / PANGO_SCALE;
    const double room = box_width_ > 0 ? box_width_ - wide : -wide;
    const double indent = style_.align == Align::left ? 0 : style_.align == Align::right ? room : room / 2;
    cairo_move_to(onto, x + indent, y + line_height_ * (index - first) + style_.size * 1.02);
    pango_cairo_show_layout_line(onto, line);
  }
  cairo_restore(onto);
}

}  // namespace shankwright::typeset
