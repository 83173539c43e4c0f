#include "record/seal.hpp"

#include <sys/stat.h>

#include <fstream>

#include "record/key_folder.hpp"
#include "record/seal_code.hpp"
#include "record/serial.hpp"
#include "record/whole_file.hpp"
#include "scratch_record.hpp"

using namespace shankwright;
using namespace shankwright::record_test;

namespace {

ports::Seal a_seal() {
  const record::SigningKey key({1, 2, 3});
  const auto entry = record::seal_entry(key, 5229, record::hash_of("head"), "release", 77);
  return good(record::read_seal(entry));
}

}  // namespace

TEST_CASE("a seal says what it covers, and fits for that alone") {
  const record::SigningKey key({7}), other({8});
  const auto head = record::hash_of("head");
  const auto signature = key.sign_head(12, head);
  CHECK(record::head_signature_fits(key.public_key(), 12, head, signature));
  CHECK_FALSE(record::head_signature_fits(key.public_key(), 13, head, signature));
  CHECK_FALSE(record::head_signature_fits(key.public_key(), 12, record::hash_of("another"), signature));
  CHECK_FALSE(record::head_signature_fits(other.public_key(), 12, head, signature));
  // A signature over a successor key is none over a head, whatever the bytes.
  CHECK_FALSE(
      record::head_signature_fits(key.public_key(), 12, head, key.sign_successor(other.public_key())));
  CHECK(record::successor_signature_fits(key.public_key(), other.public_key(),
                                         key.sign_successor(other.public_key())));
}

TEST_CASE("codes on paper read back, and a mistyped one is told") {
  const auto seal = a_seal();
  const auto whole = good(record::read_code(record::full_code(seal)));
  CHECK(whole.sequence == seal.sequence);
  CHECK(whole.head_hex == seal.head_hex);
  CHECK(*whole.signature_hex == seal.signature_hex);
  const auto code = record::short_code(seal);
  const auto brief = good(record::read_code("  " + code + " "));
  CHECK(brief.sequence == seal.sequence);
  CHECK(seal.head_hex.starts_with(brief.head_hex));
  CHECK(brief.head_hex.size() == 20);

  // One wrong character anywhere, or two neighbours exchanged, is never another code.
  for (std::size_t at = 0; at < code.size(); ++at) {
    for (const char wrong : std::string("0123456789ABCDEF")) {
      auto typed = code;
      if (typed[at] == '-' || typed[at] == wrong) continue;
      typed[at] = wrong;
      CHECK_FALSE(record::read_code(typed).ok());
    }
    auto exchanged = code;
    if (at + 1 >= code.size() || code[at] == '-' || code[at + 1] == '-' || code[at] == code[at + 1]) continue;
    std::swap(exchanged[at], exchanged[at + 1]);
    CHECK_FALSE(record::read_code(exchanged).ok());
  }
  for (const auto* nonsense : {"", "-", "SWS1", "SWS1.1.2.3.4", "12-34-56", "0-00000000000000000000-00"})
    CHECK(record::read_code(nonsense).problem().place == "code");
}

TEST_CASE("keys are made at the first seal, for their owner alone, and one key seals until it is replaced") {
  ScratchFolder folder;
  {
    const auto store = opened(folder);
    const auto serial = begin_fitting(*store);
    CHECK_FALSE(std::filesystem::exists(record::keys_folder(folder.data())));
    CHECK(good(store->append_and_seal({entry_of(serial, "release", 9000, "released")}, "release")) == 3);
    CHECK(good(store->seal_over(serial)).why == "release");
  }
  struct ::stat found {};
  REQUIRE(::stat(record::keys_folder(folder.data()).c_str(), &found) == 0);
  CHECK((found.st_mode & 0777) == 0700);
  int secrets = 0;
  for (const auto& file : std::filesystem::directory_iterator(record::keys_folder(folder.data()))) {
    if (file.path().extension() != ".secret") continue;
    ++secrets;
    REQUIRE(::stat(file.path().c_str(), &found) == 0);
    CHECK((found.st_mode & 0777) == 0600);
  }
  CHECK(secrets == 1);
  const auto store = opened(folder);
  const auto keys = good(store->entries_of_kind("seal_key", 0));
  REQUIRE(keys.size() == 1);
  good(store->append_and_seal({entry_of("", "stopped")}, "stop"));
  CHECK(good(store->entries_of_kind("seal_key", 0)).size() == 1);
  CHECK(good(store->entries_of_kind("seal", 0)).size() == 2);
}

TEST_CASE("without its key nothing is sealed and nothing is appended; a secret others can read is refused") {
  ScratchFolder folder;
  good(opened(folder)->append_and_seal({entry_of("", "started")}, "start"));
  std::filesystem::path secret;
  for (const auto& file : std::filesystem::directory_iterator(record::keys_folder(folder.data())))
    if (file.path().extension() == ".secret") secret = file.path();
  const auto before = good(opened(folder)->check_chain()).newest;
  SECTION("gone") {
    std::filesystem::rename(secret, folder.data() / "elsewhere");
    const auto store = opened(folder);
    const auto refused = store->append_and_seal({entry_of("", "stopped")}, "stop");
    REQUIRE_FALSE(refused.ok());
    CHECK(refused.problem().place == secret.string());
    CHECK(good(store->check_chain()).newest == before);
    // Work itself goes on, and a new key may be made that nobody vouches for.
    good(store->append({entry_of("", "started")}));
    good(store->rotate_key("dan", "the disk with the key broke", 5, true));
    good(store->append_and_seal({}, "stop"));
  }
  SECTION("open to others") {
    REQUIRE(::chmod(secret.c_str(), 0640) == 0);
    CHECK_FALSE(opened(folder)->append_and_seal({}, "stop").ok());
  }
  SECTION("another key in its place") {
    REQUIRE(::chmod(secret.c_str(), 0600) == 0);
    std::ofstream(secret) << std::string(64, '1') << '\n';
    CHECK_FALSE(opened(folder)->append_and_seal({}, "stop").ok());
  }
}

TEST_CASE("a small file is written whole where the process stands, too") {
  ScratchFolder folder;
  std::filesystem::create_directories(folder.data());
  const auto before = std::filesystem::current_path();
  std::filesystem::current_path(folder.data());
  const auto problem = record::write_whole_file("paper.txt", "whole", 0644);
  std::filesystem::current_path(before);
  CHECK_FALSE(problem);
  CHECK(good(record::read_small_file(folder.data() / "paper.txt", 10)) == "whole");
  CHECK_FALSE(std::filesystem::exists(folder.data() / "paper.txt.part"));
}

TEST_CASE("a replaced key signs for its successor and is taken away") {
  ScratchFolder folder;
  const auto store = opened(folder);
  good(store->append_and_seal({entry_of("", "started")}, "start"));
  const auto first =
      good(record::read_key_change(good(store->entries_of_kind("seal_key", 0)).at(0).entry)).key;
  const auto second = good(store->rotate_key("dan", "yearly", 6, false));
  const auto change = good(record::read_key_change(good(store->entries_of_kind("seal_key", 0)).at(1).entry));
  CHECK(change.key == second);
  CHECK(*change.before == first);
  CHECK(record::successor_signature_fits(first, second, *change.signed_by_before));
  CHECK_FALSE(record::load_key(folder.data(), first).ok());
  CHECK(record::load_key(folder.data(), second).ok());
  good(store->append_and_seal({}, "stop"));
  CHECK(good(record::read_seal(good(store->entries_of_kind("seal", 0)).back().entry)).public_key_hex ==
        record::hex(second));
}
