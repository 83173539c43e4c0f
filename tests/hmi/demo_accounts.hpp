#pragma once
#include <filesystem>
#include <memory>
#include <string>

#include "accounts/accounts.hpp"
#include "fake_station.hpp"
#include "tests/controller/station/fakes.hpp"

namespace shankwright::hmi_test {

/// Accounts of the demo shop's people and of admin-1, an administrator; everybody's PIN is the same. In a
/// folder of its own, with hashes that cost as little as libsodium allows.
class DemoAccounts {
 public:
  static constexpr auto pin = "4711", administrator = "admin-1";

  explicit DemoAccounts(const ports::Clock& clock);
  DemoAccounts(const DemoAccounts&) = delete;
  DemoAccounts& operator=(const DemoAccounts&) = delete;
  ~DemoAccounts();

  [[nodiscard]] accounts::Accounts& get() const { return *accounts_; }
  tests::MemoryStore store;  ///< where the changes go

 private:
  std::filesystem::path folder_;
  std::unique_ptr<accounts::Accounts> accounts_;
};

}  // namespace shankwright::hmi_test
