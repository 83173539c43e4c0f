#pragma once
#include <unistd.h>

#include <catch2/catch.hpp>
#include <filesystem>
#include <memory>
#include <stdexcept>
#include <string>

#include "accounts/accounts.hpp"
#include "accounts/credentials.hpp"
#include "tests/controller/station/fakes.hpp"

namespace shankwright::tests {

/// Accounts on a record in memory and a folder of their own, opened anew as often as a test wants: what a
/// station that starts again would find. Hashes cost as little as libsodium allows.
struct ScratchAccounts {
  HandClock clock;
  MemoryStore store;
  std::filesystem::path folder;
  std::unique_ptr<accounts::Accounts> accounts;

  ScratchAccounts() {
    std::string text = (std::filesystem::temp_directory_path() / "shankwright-accounts.XXXXXX").string();
    if (::mkdtemp(text.data()) == nullptr) throw std::runtime_error("no scratch folder");
    folder = text;
    start();
  }
  ScratchAccounts(const ScratchAccounts&) = delete;
  ScratchAccounts& operator=(const ScratchAccounts&) = delete;
  ~ScratchAccounts() {
    std::error_code ignored;
    std::filesystem::remove_all(folder, ignored);
  }

  /// A process ends in any way, and another begins.
  void start() {
    accounts.reset();
    store.on_append = {};
    store.broken = false;
    accounts::Options options;
    options.folder = folder;
    options.cost = accounts::least_cost();
    auto opened = accounts::Accounts::open(store, clock, options);
    if (!opened) throw std::runtime_error(opened.problem().text());
    accounts = std::move(opened).value();
  }

  void add(const std::string& id, bool administrator = false) {
    people::Person person;
    person.id = id;
    person.name = "Demo " + id;
    person.operator_role = !administrator;
    person.administrator_role = administrator;
    REQUIRE(accounts->add(person, "test"));
  }
  Result<bool> set_pin(const std::string& id, const std::string& pin) {
    const auto code = accounts->issue_code(id, "test");
    if (!code) return code.problem();
    REQUIRE(accounts->sign_in_by_code(id, code.value().code, "").right());
    return accounts->set_pin_by_code(id, accounts->standing(id)->code_digest, pin);
  }
  void with_pin(const std::string& id, const std::string& pin, bool administrator = false) {
    add(id, administrator);
    REQUIRE(set_pin(id, pin));
  }
  [[nodiscard]] bool right(const std::string& id, const std::string& pin) const {
    return accounts->sign_in(id, pin, "").right();
  }
  [[nodiscard]] int entries(const std::string& event) const {
    int count = 0;
    for (const auto& one : store.kept) count += one.entry.event == event ? 1 : 0;
    return count;
  }
};

}  // namespace shankwright::tests
