// What people type to search for is words, whatever characters it has, and never a language of its own.
#include <algorithm>

#include "record/search.hpp"
#include "scratch_record.hpp"

using namespace shankwright;
using namespace shankwright::record_test;
using record::text_expressions;
using namespace std::string_literals;

namespace {

std::vector<std::string> found(const record::SqliteStore& store, const std::string& text) {
  ports::FittingFilter filter;
  filter.text = text;
  filter.limit = 1000;
  std::vector<std::string> out;
  for (const auto& row : good(store.find(filter))) out.push_back(row.serial);
  return out;
}

struct Shop {
  ScratchFolder folder;
  std::shared_ptr<record::SqliteStore> store = opened(folder);
  std::string railing, mast, plain;
  Shop() {
    auto row = row_of("");
    row.job = "Geländer Süd 41";
    row.rope_lot = "RL-1008";
    railing = begin_fitting(*store, 1000, row);
    row.job = "mast 7 (OR) \"north\"";
    row.rope_lot = "RL-1009";
    mast = begin_fitting(*store, 2000, row);
    row.job = "job 9";
    row.rope_lot = "RL-2100";
    plain = begin_fitting(*store, 3000, row);
    say(railing, "dispose", R"({"event":{},"reason":"Fine crack beside the parting line."})");
    say(mast, "corrected",
        R"({"of":2,"text":"Caliper was read twice","reason":"a comma in the wrong place"})");
  }
  void say(const std::string& serial, const std::string& event, const std::string& body) const {
    auto entry = entry_of(serial, event, 5000);
    entry.body_json = body;
    good(store->append({entry}));
  }
};

}  // namespace

TEST_CASE("words stand in quotes, the last one as a beginning") {
  using Words = std::vector<std::string>;
  CHECK(text_expressions("rope slip") == Words{"\"rope\"", "\"slip\" *"});
  CHECK(text_expressions("  RL-1008\t\"x ") == Words{"\"RL-1008\"", "\"\"\"x\" *"});
  CHECK(text_expressions(" - * \" ").empty());
  CHECK(text_expressions("").empty());
}

TEST_CASE("free text finds jobs, lots and reasons, in any case, and the last word by its beginning") {
  const Shop shop;
  using Serials = std::vector<std::string>;
  CHECK(found(*shop.store, "crack") == Serials{shop.railing});
  CHECK(found(*shop.store, "CRACK fine par") == Serials{shop.railing});
  CHECK(found(*shop.store, "par crack fine").empty());  // "par" is no whole word
  CHECK(found(*shop.store, "gelander sud") == Serials{shop.railing});
  CHECK(found(*shop.store, "rl-100") == Serials{shop.railing, shop.mast});
  CHECK(found(*shop.store, "rl-1008") == Serials{shop.railing});
  CHECK(found(*shop.store, "comma twice") == Serials{shop.mast});
  CHECK(found(*shop.store, "mast comma") == Serials{shop.mast});  // one in the job, one in a reason
  CHECK(found(*shop.store, "railing").empty());
  CHECK(found(*shop.store, "job") == Serials{shop.plain});
  CHECK(found(*shop.store, "--- !").empty());
}

TEST_CASE("what would be an operator elsewhere is a word here") {
  const Shop shop;
  using Serials = std::vector<std::string>;
  CHECK(found(*shop.store, "crack OR job").empty());
  CHECK(found(*shop.store, "crack AND par").empty());
  CHECK(found(*shop.store, "(or)") == Serials{shop.mast});
  CHECK(found(*shop.store, "\"north\"") == Serials{shop.mast});
  CHECK(found(*shop.store, "north NOT mast").empty());
  CHECK(found(*shop.store, "words:crack").empty());
  CHECK(found(*shop.store, "NEAR(crack parting)").empty());
  CHECK(found(*shop.store, "cr*ck").empty());
}

TEST_CASE("any bytes at all can be typed") {
  const Shop shop;
  const auto seed = std::random_device{}();
  INFO("seed " << seed);
  std::mt19937_64 random(seed);
  const std::string nasty =
      "\"'*()^:-+{}%_\\;, \t\xc3\xa4"
      "aNORDT0\x00"s;
  for (int round = 0; round < 3000; ++round) {
    auto typed = random_text(random, 12);
    if (round % 2 == 0)
      for (auto& character : typed) character = nasty[random() % nasty.size()];
    ports::FittingFilter filter;
    filter.text = typed;
    REQUIRE(shop.store->find(filter).ok());
  }
}
