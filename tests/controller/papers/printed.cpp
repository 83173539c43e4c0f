#include "printed.hpp"

#include <cstdlib>
#include <regex>

namespace shankwright::papers_test {

using tests::run_tool;
using tests::ScratchFolder;

std::vector<std::string> pages_of(const ScratchFolder& folder, const std::string& pdf) {
  const auto answer = run_tool("pdftotext -raw -enc UTF-8 " + folder.put("read.pdf", pdf) + " -");
  REQUIRE(answer.exit_code == 0);
  std::vector<std::string> out;
  std::istringstream text(answer.out);
  for (std::string page; std::getline(text, page, '\f');) out.push_back(tests::without_blanks(page));
  while (!out.empty() && out.back().empty()) out.pop_back();
  return out;
}

std::string text_of(const ScratchFolder& folder, const std::string& pdf) {
  std::string out;
  for (const auto& page : pages_of(folder, pdf)) out += page;
  return out;
}

std::vector<std::string> symbols_of(const ScratchFolder& folder, const std::string& pdf) {
  const auto file = folder.put("symbols.pdf", pdf);
  const auto picture = (folder / "page").string();
  REQUIRE(run_tool("pdftoppm -r 200 -gray -png " + file + " " + picture).exit_code == 0);
  // Where no symbol is, libdmtx looks for as long as it may; where the words beside one are, it gets its
  // time.
  const auto pages = pages_of(folder, pdf);
  std::vector<std::string> out;
  for (std::size_t page = 1; page <= pages.size(); ++page) {
    const auto digits = pages.size() < 10 ? 1 : 2;
    auto number = std::to_string(page);
    if (static_cast<int>(number.size()) < digits) number.insert(0, "0");
    const bool promised = pages[page - 1].find("verify--codeCODE") != std::string::npos;
    const auto answer = run_tool("dmtxread -n -N 1 -m " + std::string(promised ? "20000 " : "500 ") +
                                 picture + "-" + number + ".png");
    std::istringstream lines(answer.out);
    for (std::string line; std::getline(lines, line);)
      if (!line.empty()) out.push_back(line);
  }
  return out;
}

std::vector<std::string> fonts_not_embedded(const ScratchFolder& folder, const std::string& pdf) {
  const auto answer = run_tool("pdffonts " + folder.put("fonts.pdf", pdf));
  REQUIRE(answer.exit_code == 0);
  std::vector<std::string> out;
  std::istringstream lines(answer.out);
  std::string heading, rule;
  std::getline(lines, heading);
  std::getline(lines, rule);
  const auto column = heading.find("emb");
  REQUIRE(column != std::string::npos);
  int fonts = 0;
  for (std::string line; std::getline(lines, line); ++fonts)
    if (line.compare(column, 3, "yes") != 0) out.push_back(line);
  REQUIRE(fonts > 0);
  return out;
}

std::vector<std::string> words_outside(const ScratchFolder& folder, const std::string& pdf, double margin) {
  const auto answer = run_tool("pdftotext -bbox -enc UTF-8 " + folder.put("boxes.pdf", pdf) + " -");
  REQUIRE(answer.exit_code == 0);
  std::vector<std::string> out;
  double width = 0, height = 0;
  int page = 0, words = 0;
  const auto number = [](const std::string& line, const char* name) {
    const auto at = line.find(std::string(name) + "=\"");
    REQUIRE(at != std::string::npos);
    return std::strtod(line.c_str() + at + std::string(name).size() + 2, nullptr);
  };
  std::istringstream lines(answer.out);
  for (std::string line; std::getline(lines, line);) {
    if (line.find("<page ") != std::string::npos) {
      ++page;
      width = number(line, "width");
      height = number(line, "height");
    }
    if (line.find("<word ") == std::string::npos) continue;
    ++words;
    if (number(line, "xMin") < margin || number(line, "yMin") < margin ||
        number(line, "xMax") > width - margin || number(line, "yMax") > height - margin)
      out.push_back(std::to_string(page) + ": " + line);
  }
  REQUIRE(words > 50);
  return out;
}

}  // namespace shankwright::papers_test
