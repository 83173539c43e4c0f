#include <catch2/catch.hpp>
#include <set>

#include "wording/wording.hpp"

using namespace shankwright;
using procedure::Code;
using procedure::Finding;
using wording::describe;

TEST_CASE("Every code has a name of its own and a whole sentence") {
  std::set<std::string_view> names;
  for (int i = 0; i < static_cast<int>(Code::count_); ++i) {
    const auto code = static_cast<Code>(i);
    INFO(wording::name_of(code));
    CHECK(names.insert(wording::name_of(code)).second);
    const auto text = describe({code, 1.25, 0.5, 1.0});
    CHECK(text.what.size() > 10);
    CHECK(text.what.back() == '.');
    CHECK(std::isupper(static_cast<unsigned char>(text.what.front())) != 0);
  }
}

TEST_CASE("A refusal never shows a value that looks like the limit it is beyond") {
  CHECK(describe({Code::rope_diameter_out, 4.76, 4.7625, 4.9276}).what ==
        "Rope diameter: 4.760 mm, accepted 4.763 mm to 4.928 mm.");
  CHECK(describe({Code::rope_not_home, 2.4, -0.8, 0.8}).what ==
        "Depth mark to mouth: 2.40 mm, accepted -0.80 mm to 0.80 mm.");
  for (int step = -50; step <= 50; ++step) {
    const double found = 7.95 + step * 0.00037;
    if (found >= 7.93 && found <= 7.95) continue;
    const std::string text = describe({Code::across_flats_over, found, 7.93, 7.95}).what;
    const auto from = text.find(": ") + 2;
    const std::string shown = text.substr(from, text.find(" mm", from) - from);
    INFO(text);
    CHECK(text.find(shown, from + 1) == std::string::npos);
  }
}

TEST_CASE("A press's fault and refusal are named, not only numbered") {
  CHECK(describe({Code::press_fault_in_bite, 6, 0, 0}).what ==
        "The press stopped this bite with a fault: stroke time-out (6).");
  CHECK(describe({Code::permit_refused_by_press, 6, 0, 0}).what ==
        "The press refused the permit: other die tag (6).");
}
