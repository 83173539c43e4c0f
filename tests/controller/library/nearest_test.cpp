#include "library/nearest.hpp"

#include <catch2/catch.hpp>

using namespace shankwright::library;

TEST_CASE("Edit distance counts insertions, deletions, replacements and swaps") {
  CHECK(edit_distance("", "") == 0);
  CHECK(edit_distance("dwell", "dwell") == 0);
  CHECK(edit_distance("dwell", "dwel") == 1);
  CHECK(edit_distance("dwell", "dwelll") == 1);
  CHECK(edit_distance("dwell", "dwall") == 1);
  CHECK(edit_distance("dwell", "dewll") == 1);
  CHECK(edit_distance("Dwell", "dwell") == 0);
  // The classic pair of the literature on edit distance.
  CHECK(edit_distance("kitten", "sitting") == 3);
}

TEST_CASE("The nearest known name is offered only when it may have been meant") {
  const std::vector<std::string> known{"bore_depth", "bore_diameter", "swage_length"};
  CHECK(nearest("bore_dpeth", known) == "bore_depth");
  CHECK(nearest("boredepth", known) == "bore_depth");
  CHECK(nearest("swage_lenght", known) == "swage_length");
  CHECK(nearest("colour", known).empty());
  CHECK(nearest("", known).empty());
  CHECK(nearest(std::string(10000, 'x'), known).empty());
  CHECK(one_of("bore_dpeth", known) ==
        "one of bore_depth, bore_diameter, swage_length; the nearest is \"bore_depth\"");
}
