#include <catch2/catch.hpp>
#include <chrono>
#include <fstream>

#include "library_folder.hpp"

using namespace shankwright;
using namespace shankwright::library;
using namespace shankwright::library::tests;

namespace {

const std::string register_text =
    "name: Demo shop (demo data)\n"
    "people:\n"
    "  - id: ada\n"
    "    name: Ada Example\n"
    "    roles: [operator, reviewer]\n"
    "    qualified: {straight-shank-hexagon: 2027-06-30}\n"
    "  - {id: bo, name: Bo Example, roles: [technician], qualified: {}}\n"
    "rope_lots:\n"
    "  - {id: RL-0001, rope: rope-3-16-7x19, quarantined: false, certificate: demo data}\n"
    "  - {id: RL-0002, rope: rope-1-8-7x19, quarantined: true, certificate: demo data}\n"
    "terminal_lots:\n"
    "  - {id: TL-0001, terminal: straight-shank-3-16, quarantined: false, certificate: demo data}\n"
    "gauges:\n"
    "  - {id: caliper-1, calibration_due: 2027-02-28}\n"
    "die_pairs:\n"
    "  - {id: hex-3-16, serial: D-0001, inspection_due: 2027-06-30, strokes: 1200}\n"
    "presses:\n"
    "  - {id: press-1, calibration_due: 1970-01-02}\n";

class ShopFile {
 public:
  ShopFile() : path_(folder_.path() / "shop.yaml") { write(register_text); }
  void write(const std::string& text) const { std::ofstream(path_, std::ios::binary) << text; }
  [[nodiscard]] ShopResult load() const { return load_shop(path_, library_); }
  [[nodiscard]] ShopResult load_with(const std::string& from, const std::string& to) const {
    std::string text = register_text;
    const std::size_t at = text.find(from);
    if (at == std::string::npos) throw std::logic_error("no \"" + from + "\"");
    write(text.replace(at, from.size(), to));
    return load();
  }
  [[nodiscard]] const std::filesystem::path& path() const { return path_; }

 private:
  LibraryFolder folder_;
  Library library_ = library::load(folder_.path());
  std::filesystem::path path_;
};

std::int64_t day(int year, unsigned month, unsigned day_of_month) {
  using namespace std::chrono;
  return sys_days(std::chrono::year(year) / std::chrono::month(month) / std::chrono::day(day_of_month))
      .time_since_epoch()
      .count();
}

}  // namespace

TEST_CASE("A shop register gives people, lots, and what falls due when") {
  const ShopFile file;
  const ShopResult result = file.load();
  for (const Problem& fault : result.faults) UNSCOPED_INFO(fault.text());
  REQUIRE(result.faults.empty());
  const Shop& shop = result.shop;
  CHECK(shop.name == "Demo shop (demo data)");
  CHECK(shop.people.at("ada").operator_role);
  CHECK(shop.people.at("ada").reviewer_role);
  CHECK_FALSE(shop.people.at("ada").technician_role);
  CHECK_FALSE(shop.people.at("bo").operator_role);
  CHECK(shop.people.at("ada").qualified_until_day.at("straight-shank-hexagon") == day(2027, 6, 30));
  CHECK(shop.rope_lots.at("RL-0001").of == "rope-3-16-7x19");
  CHECK(shop.rope_lots.at("RL-0002").quarantined);
  CHECK(shop.terminal_lots.at("TL-0001").certificate == "demo data");
  CHECK(shop.gauge_calibration_due_day.at("caliper-1") == day(2027, 2, 28));
  CHECK(shop.die_pairs.at("hex-3-16").strokes_at_register == 1200);
  CHECK(shop.die_pairs.at("hex-3-16").serial == "D-0001");
  CHECK(shop.press_calibration_due_day.at("press-1") == 1);
  CHECK(check_paths({file.path()}).faults.empty());
}

TEST_CASE("Each slip in a shop register is a fault at its place") {
  struct Row {
    std::string from, to, marker, found, expected;
  };
  const std::vector<Row> rows{
      {"rope: rope-3-16-7x19", "rope: rope-3-16-7x91", "rope-3-16-7x91", "rope-3-16-7x91",
       "the nearest is \"rope-3-16-7x19\""},
      {"terminal: straight-shank-3-16", "terminal: straight-shank-4-16", "straight-shank-4-16",
       "straight-shank-4-16", "a terminal of the library"},
      {"{id: caliper-1", "{id: calliper-1", "calliper-1", "calliper-1", "the nearest is \"caliper-1\""},
      {"{id: hex-3-16", "{id: hex-3-61", "hex-3-61", "hex-3-61", "a die pair of the library"},
      {"{id: press-1", "{id: press-9", "press-9", "press-9", "the nearest is \"press-1\""},
      {"id: RL-0002", "id: RL-0001", "RL-0001, rope: rope-1-8", "\"RL-0001\" a second time",
       "stands first at"},
      {"id: bo", "id: ada", "ada, name: Bo", "\"ada\" a second time", "stands first at"},
      {"[technician]", "[technican]", "technican", "technican", "the nearest is \"technician\""},
      {"[technician]", "[technician, technician]", "technician]", "\"technician\" a second time",
       "each id once"},
      {"[technician]", "[]", "[]", "a list of 0", "at least 1"},
      {"2027-02-28", "2027-02-29", "2027-02-29", "2027-02-29", "a day as YYYY-MM-DD"},
      {"2027-02-28", "28.02.2027", "28.02.2027", "28.02.2027", "a day as YYYY-MM-DD"},
      {"2027-02-28", "2027-2-28", "2027-2-28", "2027-2-28", "a day as YYYY-MM-DD"},
      {"{straight-shank-hexagon:", "{straight-shank-hexagn:", "straight-shank-hexagn",
       "straight-shank-hexagn", "the nearest is \"straight-shank-hexagon\""},
      {"quarantined: true", "quarantined: maybe", "maybe", "maybe", "true or false"},
      {"strokes: 1200", "strokes: -1", "-1}", "-1", "a whole number"},
      {"gauges:\n", "guages:\n", "guages", "unknown key \"guages\"", "the nearest is \"gauges\""},
      {"    roles: [operator, reviewer]\n", "", "id: ada", "no key \"roles\"", "a list of ids"},
      {"strokes: 1200", "strokes: 1200, stroks: 1", "stroks", "unknown key \"stroks\"",
       "the nearest is \"strokes\""},
  };
  const ShopFile file;
  for (const Row& row : rows) {
    INFO("\"" << row.from << "\" made \"" << row.to << "\"");
    const ShopResult result = file.load_with(row.from, row.to);
    for (const Problem& fault : result.faults) UNSCOPED_INFO(fault.text());
    REQUIRE(result.faults.size() == 1);
    CHECK(line_and_column(result.faults[0]) == place_of(read_text(file.path()), row.marker));
    CHECK_THAT(result.faults[0].found, Catch::Contains(row.found));
    CHECK_THAT(result.faults[0].expected, Catch::Contains(row.expected));
  }
}

TEST_CASE("A row with a fault is left out of the shop, so that nobody and nothing is in order by mistake") {
  const ShopFile file;
  CHECK_FALSE(file.load_with("2027-02-28", "soon").shop.gauge_calibration_due_day.contains("caliper-1"));
  CHECK_FALSE(file.load_with("quarantined: true", "quarantined: maybe").shop.rope_lots.contains("RL-0002"));
  CHECK_FALSE(file.load_with("[technician]", "[technican]").shop.people.contains("bo"));
  CHECK_FALSE(file.load_with("2027-06-30}\n  - {id: bo", "2027-06-31}\n  - {id: bo")
                  .shop.people.at("ada")
                  .qualified_until_day.contains("straight-shank-hexagon"));
}

TEST_CASE("A shop register that cannot be read is one fault") {
  const ShopFile file;
  std::filesystem::remove(file.path());
  CHECK(file.load().faults.size() == 1);
  file.write("people: [\n");
  CHECK(file.load().faults.size() == 1);
  file.write("[]\n");
  CHECK(file.load().faults.size() == 1);
}

TEST_CASE("A register without people is whole, and none makes an administrator") {
  const ShopFile file;
  std::string text = read_text(file.path());
  const auto from = text.find("people:\n"), to = text.find("rope_lots:");
  CHECK_THAT(file.load_with("[technician]", "[administrator]").faults.at(0).expected,
             Catch::Contains("one of operator, technician, planner, reviewer"));
  text.erase(from, to - from);
  file.write(text);
  CHECK(file.load().faults.empty());
  CHECK(file.load().shop.people.empty());
}
