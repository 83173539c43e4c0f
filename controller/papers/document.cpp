#include "papers/document.hpp"

#include "typeset/pdf_file.hpp"

namespace shankwright::papers {

std::string document_pdf(const DocumentSettings& settings, const std::function<void(Sheet&)>& fill) {
  const typeset::Typesetter typesetter;
  int pages = 0;
  std::string bytes;
  for (const bool counting : {true, false}) {
    typeset::PdfFile file(settings.size.width, settings.size.height, settings.title, settings.subject,
                          settings.created_utc_us);
    Sheet sheet(file.context(), typesetter, settings.size, settings.running, pages);
    fill(sheet);
    pages = sheet.finish();
    if (!counting) bytes = file.finish();
  }
  return bytes;
}

}  // namespace shankwright::papers
