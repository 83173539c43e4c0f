#pragma once
#include <cairo.h>

#include <string>
#include <utility>
#include <vector>

#include "papers/table.hpp"
#include "typeset/words.hpp"

/// Pages of one document, filled from the top down. Whatever is put on them stays between the margins: text
/// wraps, and what is higher than the rest of the page goes on overleaf.
namespace shankwright::papers {

struct PageSize {
  double width = 595.276, height = 841.890;  ///< points; A4, ISO 216
};
inline constexpr PageSize letter_size{612, 792};

/// What stands on every page.
struct Running {
  std::string title, subject;  ///< head of every page but the first
  std::string code;            ///< foot: how the record can be asked about this paper
  std::string caution;         ///< foot, one line
};

class Sheet {
 public:
  /// `pages_in_all` is 0 while nobody knows: pages are counted then as they come.
  Sheet(cairo_t* onto, const typeset::Typesetter& typesetter, const PageSize& size, Running running,
        int pages_in_all);

  void title(std::string_view text, std::string_view below);
  /// Goes to the next page when less than `with_at_least` points would be left under it.
  void heading(std::string_view text, double with_at_least = 90);
  void small_heading(std::string_view text, double with_at_least = 60);
  void paragraph(std::string_view text, const typeset::Style& style = {});
  /// A paragraph nobody must overlook: on a pale ground with a bar at its left.
  void callout(std::string_view text, typeset::Colour colour);
  /// Names and values, two pairs beside each other where `columns` is 2.
  void facts(const std::vector<std::pair<std::string, std::string>>& rows, int columns = 2);
  void table(const Table& table);
  void space(double points);
  /// So much room in one piece, on this page or the next; gives the y of its top.
  double room(double height);

  [[nodiscard]] double left() const;
  [[nodiscard]] double width() const;
  [[nodiscard]] cairo_t* context() const { return onto_; }
  [[nodiscard]] const typeset::Typesetter& typesetter() const { return typesetter_; }
  void rule(double y, typeset::Colour colour, double thickness);
  void fill(double x, double y, double width, double height, typeset::Colour colour);

  /// Ends the last page; how many there were.
  int finish();

 private:
  struct Piece {
    double x = 0;
    const typeset::Words* words = nullptr;
  };
  void begin_page();
  void end_page();
  void next_page();
  [[nodiscard]] double left_over() const;
  /// Cells beside each other, whole on one page where they fit a page, line by line over several otherwise.
  /// `on_new_page` is called after each page begun on the way, `behind` before each part is drawn.
  template <typename OnNewPage, typename Behind>
  void flow(const std::vector<Piece>& pieces, double padding, OnNewPage on_new_page, Behind behind);

  cairo_t* onto_;
  const typeset::Typesetter& typesetter_;
  PageSize size_;
  Running running_;
  int pages_in_all_, page_ = 0;
  double y_ = 0;
};

}  // namespace shankwright::papers
