#pragma once
#include <memory>
#include <string>
#include <vector>

#include "paper_record.hpp"
#include "papers/dossier_pdf.hpp"
#include "support/tools.hpp"

/// Papers made from a record, and what poppler and libdmtx read off them.
namespace shankwright::papers_test {

struct Shop {
  Shop() : store(record::SqliteStore::open(folder / "data").value()) {}
  tests::ScratchFolder folder;
  std::shared_ptr<record::SqliteStore> store;
};

inline constexpr std::int64_t issued_us = 1'932'800'000'000'000;  // 2031-04-01T08:53:20Z

/// The text of a PDF in the order it was drawn, blanks and line ends left out (pdftotext -raw).
[[nodiscard]] std::string text_of(const tests::ScratchFolder& folder, const std::string& pdf);
/// The same by page.
[[nodiscard]] std::vector<std::string> pages_of(const tests::ScratchFolder& folder, const std::string& pdf);
/// Every Data Matrix found on the pages, rasterised at 200 dots an inch.
[[nodiscard]] std::vector<std::string> symbols_of(const tests::ScratchFolder& folder, const std::string& pdf);
/// Names of fonts that are not embedded.
[[nodiscard]] std::vector<std::string> fonts_not_embedded(const tests::ScratchFolder& folder,
                                                          const std::string& pdf);
/// Words whose box leaves the page's box less `margin` points, as "page: word (box)".
[[nodiscard]] std::vector<std::string> words_outside(const tests::ScratchFolder& folder,
                                                     const std::string& pdf, double margin);

}  // namespace shankwright::papers_test
