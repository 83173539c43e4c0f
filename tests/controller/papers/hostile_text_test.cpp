#include <catch2/catch.hpp>
#include <random>

#include "papers/dossier_pdf.hpp"
#include "printed.hpp"
#include "quantity/as_written.hpp"

// Goal: whatever text the record holds, no word leaves the page. Method: texts drawn from a seed out of long
// words, long sentences, controls, direction marks, stacked accents, and markup, in every place
// a person can write to; poppler says where each word lies.
using namespace shankwright;
using namespace shankwright::papers_test;

namespace {

std::string hostile(std::mt19937_64& random) {
  static const std::vector<std::string> pieces{
      "W",
      "wire ",
      "job",
      "-",
      "\n",
      "\t",
      "\x1b[2J",
      "\x07",
      "\u202E",
      "\u2066",
      "\u200B",
      "\uFEFF",
      "e\u0301\u0302\u0303\u0304\u0305",
      "<b>&amp;</b>",
      "%s%n",
      "\u00C4rger ",
      "\u05D0\u05D1\u05D2 ",
      "\u0645\u0631\u062D ",
      "\u65E5\u672C ",
      "\U0001F600",
      "MMMMMMMMMMMMMMMMMMMMMMMMMMMMMMMMMMMMMMMMMMMMMMMMMMMMMMMMMMMMMMMMMMMMMMMMMMMMMMMMMMMMMMMMMMMM",
      "\\",
      "\"",
      "'"};
  std::string out;
  const auto count = std::uniform_int_distribution<int>(1, 120)(random);
  for (int i = 0; i < count; ++i)
    out += pieces[std::uniform_int_distribution<std::size_t>(0, pieces.size() - 1)(random)];
  return out;
}

/// The record refuses broken UTF-8 by itself; harmless_test.cpp has it.
Story story_of(std::mt19937_64& random) {
  Story story;
  story.job = hostile(random);
  story.operator_id = hostile(random);
  story.operator_name = hostile(random);
  story.rope_lot = hostile(random);
  story.terminal_lot = hostile(random);
  story.reason = hostile(random);
  story.recipe_source = hostile(random);
  story.held_and_used_as_is = true;
  story.corrected = true;
  story.proof_load = true;
  return story;
}

}  // namespace

TEST_CASE("no text from the record leaves the page of a certificate or a dossier") {
  for (std::uint64_t seed = 1; seed <= 12; ++seed) {
    INFO("seed " << seed);
    std::mt19937_64 random(seed);
    Shop shop;
    const auto story = story_of(random);
    const auto serial = write_fitting(*shop.store, story);
    const papers::PaperOptions options{papers::UnitSystem::metric,
                                       seed % 2 == 0 ? papers::letter_size : papers::PageSize{}, issued_us};
    const auto certified = papers::certified_serial(*shop.store, serial);
    if (!certified) FAIL(certified.problem().text());
    for (const auto& pdf : {papers::certificate_pdf(certified.value(), options),
                            papers::dossier_pdf(*shop.store, serial, options).value()}) {
      const auto outside = words_outside(shop.folder, pdf, 18);
      CAPTURE(outside);
      CHECK(outside.empty());
      const auto text = text_of(shop.folder, pdf);
      for (const auto* control : {"\x1b", "\x07", "\u202E", "\u2066", "\u200B"})
        CHECK(text.find(control) == std::string::npos);
      CHECK(fonts_not_embedded(shop.folder, pdf).empty());
    }
  }
}

TEST_CASE("a reason of a thousand lines goes on over pages and is cut in words") {
  Shop shop;
  std::string reason;
  for (int i = 0; i < 1000; ++i) reason += "line " + std::to_string(i) + " of what I have to say\n";
  const auto serial = write_fitting(*shop.store, {.reason = reason, .held_and_used_as_is = true});
  const auto pdf =
      papers::dossier_pdf(*shop.store, serial, {papers::UnitSystem::metric, {}, issued_us}).value();
  const auto text = text_of(shop.folder, pdf);
  CHECK(text.find("line0ofwhatIhavetosay") != std::string::npos);
  CHECK(text.find("morecharactersareintherecord") != std::string::npos);
  CHECK(words_outside(shop.folder, pdf, 20).empty());
}
