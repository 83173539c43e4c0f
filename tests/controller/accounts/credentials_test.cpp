#include <sys/stat.h>

#include <fstream>

#include "scratch_accounts.hpp"

// Goal: a PIN is there or it is not, whenever the process dies; the file is its owner's alone; and who can
// write to the file, but not to the record, gains nothing.
using namespace shankwright;
using namespace shankwright::tests;

namespace {

struct Died {};  ///< stands for SIGKILL: whatever was to come does not

unsigned mode_of(const std::filesystem::path& file) {
  struct stat about {};
  REQUIRE(::stat(file.c_str(), &about) == 0);
  return about.st_mode & 0777U;
}

std::string text_of(const std::filesystem::path& file) {
  std::ifstream in(file);
  return {std::istreambuf_iterator<char>(in), {}};
}

}  // namespace

TEST_CASE("the file is readable by its owner alone, also where it was not, and holds no PIN") {
  ScratchAccounts scratch;
  scratch.with_pin("ada", "471147");
  const auto file = accounts::credentials_file(scratch.folder);
  CHECK(mode_of(file) == 0600);
  CHECK(text_of(file).find("471147") == std::string::npos);
  for (const auto& stored : scratch.store.kept)
    CHECK(stored.entry.body_json.find("argon2") == std::string::npos);
  ::chmod(file.c_str(), 0644);
  scratch.start();
  CHECK(mode_of(file) == 0600);
  REQUIRE(scratch.accounts->notices().size() == 1);
  CHECK(scratch.accounts->notices().front().find("open to other users") != std::string::npos);
  CHECK(scratch.right("ada", "471147"));
  CHECK(std::distance(std::filesystem::directory_iterator(scratch.folder), {}) ==
        1);  // nothing is left beside it
}

// The new hash is put beside the old one in the file, then the record says which counts, then the old one is
// taken out.
TEST_CASE("dying between file and record leaves the old PIN; dying after the record leaves the new one") {
  for (const bool first_pin : {true, false}) {
    ScratchAccounts scratch;
    scratch.add("ada");
    if (!first_pin) REQUIRE(scratch.set_pin("ada", "4711"));
    const auto code = scratch.accounts->issue_code("ada", "test").value().code;
    const auto digest = scratch.accounts->standing("ada")->code_digest;

    scratch.store.on_append = [] { throw Died{}; };  // the file is written, the record is not
    CHECK_THROWS_AS(scratch.accounts->set_pin_by_code("ada", digest, "2580"), Died);
    const auto both = accounts::read_credentials(scratch.folder).credentials.people.at("ada").pins.size();
    CHECK(both == (first_pin ? 1 : 2));
    scratch.start();
    CHECK(scratch.accounts->notices().empty());
    CHECK(scratch.right("ada", "4711") == !first_pin);
    CHECK_FALSE(scratch.right("ada", "2580"));
    CHECK(accounts::read_credentials(scratch.folder).credentials.people.at("ada").pins.size() ==
          (first_pin ? 0 : 1));
    REQUIRE(scratch.accounts->sign_in_by_code("ada", code, "").right());  // and the code is not used up

    // The record is written; the old hash is still in the file.
    const auto before = accounts::read_credentials(scratch.folder).credentials;
    REQUIRE(scratch.accounts->set_pin_by_code("ada", digest, "2580"));
    auto as_it_lay = accounts::read_credentials(scratch.folder).credentials;
    for (const auto& pin : before.people.at("ada").pins)
      as_it_lay.people["ada"].pins.insert(as_it_lay.people["ada"].pins.begin(), pin);
    as_it_lay.people["ada"].codes = before.people.at("ada").codes;
    REQUIRE_FALSE(accounts::write_credentials(scratch.folder, as_it_lay));
    scratch.start();
    CHECK(scratch.accounts->notices().empty());
    CHECK_FALSE(scratch.right("ada", "4711"));
    CHECK(scratch.right("ada", "2580"));
    CHECK_FALSE(scratch.accounts->sign_in_by_code("ada", code, "").right());
    CHECK(accounts::read_credentials(scratch.folder).credentials.people.at("ada").pins.size() == 1);
  }
}

TEST_CASE("a record that refuses leaves the old PIN, now and after a restart") {
  ScratchAccounts scratch;
  scratch.with_pin("ada", "4711");
  scratch.store.broken = true;
  const auto change = scratch.accounts->change_pin("ada", "4711", "2580");
  CHECK(change.old_pin.right());
  CHECK(change.problem);
  CHECK(scratch.right("ada", "4711"));
  CHECK_FALSE(scratch.right("ada", "2580"));
  scratch.start();
  CHECK(scratch.right("ada", "4711"));
}

TEST_CASE(
    "an entry that was written although the record said no counts at the next start, and its PIN is there") {
  ScratchAccounts scratch;
  scratch.with_pin("ada", "4711");
  // As after an input/output error: the answer was no, the disk has it all the same.
  ports::NewEntry written;
  scratch.store.on_append = [&] { scratch.store.broken = true; };
  const auto file_before =
      accounts::read_credentials(scratch.folder).credentials.people.at("ada").pins.front();
  CHECK(scratch.accounts->change_pin("ada", "4711", "2580").problem);
  const auto in_file = accounts::read_credentials(scratch.folder).credentials.people.at("ada").pins;
  REQUIRE(in_file.size() == 2);
  scratch.store.broken = false;
  scratch.store.on_append = {};
  written.kind = "account";
  written.event = "pin_set";
  written.actor = "ada";
  written.body_json = R"({"person":"ada","before":")" + accounts::digest_of(file_before) + R"(","after":")" +
                      accounts::digest_of(in_file.back()) + R"(","by":"pin"})";
  REQUIRE(scratch.store.append({written}));
  scratch.start();
  CHECK(scratch.right("ada", "2580"));
  CHECK_FALSE(scratch.right("ada", "4711"));
}

TEST_CASE("a replaced file gives nobody rights, and says so") {
  ScratchAccounts scratch;
  scratch.with_pin("ada", "4711");
  scratch.with_pin("bo", "2580", true);
  auto forged = accounts::read_credentials(scratch.folder).credentials;
  SECTION("with a hash of a PIN that somebody knows") {
    forged.people["bo"].pins = {accounts::hashed("9753", accounts::least_cost())};
  }
  SECTION("with somebody else's hash") {
    forged.people["bo"].pins = forged.people["ada"].pins;
  }
  SECTION("with nothing") {
    forged.people.clear();
  }
  REQUIRE_FALSE(accounts::write_credentials(scratch.folder, forged));
  scratch.start();
  for (const char* pin : {"9753", "4711", "2580"}) CHECK_FALSE(scratch.right("bo", pin));
  CHECK_FALSE(scratch.accounts->has_administrator());
  bool told = false;
  for (const auto& notice : scratch.accounts->notices())
    told = told || notice.find("The PIN of bo") != std::string::npos;
  CHECK(told);
}

TEST_CASE("an old file put back does not bring an old PIN or a used code back") {
  ScratchAccounts scratch;
  scratch.with_pin("ada", "4711");
  const auto code = scratch.accounts->issue_code("ada", "test").value().code;
  const auto old = text_of(accounts::credentials_file(scratch.folder));
  REQUIRE(scratch.accounts->set_pin_by_code("ada", scratch.accounts->standing("ada")->code_digest, "2580"));
  std::ofstream(accounts::credentials_file(scratch.folder)) << old;
  scratch.start();
  CHECK_FALSE(scratch.right("ada", "4711"));
  CHECK_FALSE(scratch.accounts->sign_in_by_code("ada", code, "").right());
}

TEST_CASE("a file that is no file of ours counts for nothing and stops nobody from starting") {
  ScratchAccounts scratch;
  scratch.with_pin("ada", "4711");
  for (const char* text :
       {"", "{}", "[1,2]", "{\"format\":\"shankwright credentials 1\",\"people\":[]}", "\xff\xfe"}) {
    std::ofstream(accounts::credentials_file(scratch.folder)) << text;
    scratch.start();
    INFO(text);
    CHECK_FALSE(scratch.accounts->notices().empty());
    CHECK_FALSE(scratch.right("ada", "4711"));
  }
  std::filesystem::remove(accounts::credentials_file(scratch.folder));
  std::filesystem::create_symlink("/etc/passwd", accounts::credentials_file(scratch.folder));
  scratch.start();
  CHECK_FALSE(scratch.accounts->notices().empty());
}
