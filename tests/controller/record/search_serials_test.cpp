// Serials by their beginning and serials like a mistyped one, found without going through all: the same ones
// as going through all finds.
#include <algorithm>

#include "record/numbers_like.hpp"
#include "record/serial.hpp"
#include "record/serial_ranges.hpp"
#include "review/nearest_serials.hpp"
#include "scratch_record.hpp"

using namespace shankwright;
using namespace shankwright::record;

namespace {

bool in(const std::vector<NumberRange>& ranges, std::int64_t number) {
  return std::any_of(ranges.begin(), ranges.end(),
                     [&](const auto& range) { return range.first <= number && number <= range.last; });
}

// One wrong, missing, additional or exchanged character.
std::string slip(std::string text, std::mt19937_64& random) {
  constexpr std::string_view keys = "0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ";
  const auto at = text.empty() ? 0 : random() % text.size();
  switch (text.empty() ? 3 : random() % 4) {
    case 0:
      text[at] = keys[random() % keys.size()];
      break;
    case 1:
      text.erase(at, 1);
      break;
    case 2:
      if (at + 1 < text.size()) std::swap(text[at], text[at + 1]);
      break;
    default:
      text.insert(at, 1, keys[random() % keys.size()]);
  }
  return text;
}

}  // namespace

TEST_CASE("the numbers of a beginning are exactly those whose serials begin so") {
  const auto seed = std::random_device{}();
  INFO("seed " << seed);
  std::mt19937_64 random(seed);
  std::vector<std::int64_t> numbers{1, 9, 10, 99'999, 100'000, 999'999, 1'000'000, 1'000'001, 10'000'000};
  for (int more = 0; more < 400; ++more)
    numbers.push_back(1 + static_cast<std::int64_t>(random() % (more % 2 ? 2'000'000 : 20'000'000'000)));
  for (int round = 0; round < 600; ++round) {
    auto typed = bare(serial_of(numbers[random() % numbers.size()]));
    typed.resize(random() % (typed.size() + 1));
    if (round % 5 == 0) typed = slip(typed, random);
    if (round % 3 == 0 && typed.size() > 2) typed.insert(2, "-");
    INFO(typed);
    const auto ranges = numbers_beginning(typed);
    for (const auto number : numbers)
      REQUIRE(in(ranges, number) == bare(serial_of(number)).starts_with(bare(typed)));
    for (std::size_t next = 1; next < ranges.size(); ++next)
      REQUIRE(ranges[next - 1].last < ranges[next].first);
  }
  CHECK(numbers_beginning("SW-000011") == std::vector<NumberRange>{{11, 11}});
  CHECK(numbers_beginning("%").empty());
  CHECK(numbers_beginning("SWX").empty());
  CHECK(numbers_beginning("SW-" + std::string(40, '9')).empty());
}

TEST_CASE("serials near a mistyped one are those that going through all serials finds, in the same order") {
  const auto seed = std::random_device{}();
  INFO("seed " << seed);
  std::mt19937_64 random(seed);
  for (const std::int64_t first : {1, 990, 99'900, 999'950}) {
    constexpr std::int64_t count = 300;
    std::vector<std::string> all;
    for (auto number = first; number < first + count; ++number) all.push_back(serial_of(number));
    int found = 0;
    for (int round = 0; round < 120; ++round) {
      auto typed = bare(all[random() % all.size()]);
      for (auto slips = round % 4; slips > 0; --slips) typed = slip(typed, random);
      INFO(typed);
      std::vector<std::string> like;
      for (const auto number : numbers_like(typed, first + count - 1))
        if (number >= first) like.push_back(serial_of(number));
      // Those that begin with it are looked up by their range.
      const auto ranges = numbers_beginning(typed);
      for (auto number = first; number < first + count; ++number)
        if (typed.size() >= 4 && in(ranges, number)) like.push_back(serial_of(number));
      std::sort(like.begin(), like.end(),
                [](const auto& one, const auto& other) { return *number_of(one) < *number_of(other); });
      like.erase(std::unique(like.begin(), like.end()), like.end());
      REQUIRE(review::nearest_serials(typed, like, 5) == review::nearest_serials(typed, all, 5));
      found += !like.empty();
    }
    CHECK(found > 60);
  }
}

TEST_CASE("what is like no serial is refused before any is tried") {
  CHECK(numbers_like(std::string(25, '1'), 1000).empty());
  CHECK(numbers_like("", 1000).empty());
  CHECK(numbers_like("find me a terminal", 1000).empty());
}

TEST_CASE("the record names the serials near to a mistyped one, and none that was only given") {
  const record_test::ScratchFolder folder;
  const auto store = record_test::opened(folder);
  std::vector<std::string> serials;
  for (int index = 0; index < 30; ++index) serials.push_back(record_test::begin_fitting(*store));
  const auto only_given = record_test::good(store->reserve_serial(1));
  for (const auto& typed :
       {serials[12], "X" + serials[3], only_given, std::string("SW-0000"), std::string("?")})
    CHECK(review::nearest_serials(typed, record_test::good(store->serials_near(typed)), 5) ==
          review::nearest_serials(typed, serials, 5));
}
