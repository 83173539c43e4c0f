#include "demo_accounts.hpp"

#include <unistd.h>

#include <stdexcept>

#include "accounts/credentials.hpp"

namespace shankwright::hmi_test {
namespace {

std::filesystem::path fresh_folder() {
  std::string text = (std::filesystem::temp_directory_path() / "shankwright-accounts.XXXXXX").string();
  if (::mkdtemp(text.data()) == nullptr) throw std::runtime_error("no folder for the test's accounts");
  return text;
}

accounts::Options options_in(const std::filesystem::path& folder) {
  accounts::Options options;
  options.folder = folder;
  options.cost = accounts::least_cost();
  return options;
}

std::unique_ptr<accounts::Accounts> opened(ports::RecordStore& store, const ports::Clock& clock,
                                           const std::filesystem::path& folder) {
  return accounts::Accounts::open(store, clock, options_in(folder)).value();
}

/// Made once; every test begins with a copy.
struct Prepared {
  tests::MemoryStore store;
  accounts::Credentials credentials;

  Prepared() {
    const FakeClock clock;
    const auto folder = fresh_folder();
    const auto made = opened(store, clock, folder);
    if (!made->enrol(demo_shop().people)) throw std::runtime_error("the demo shop cannot be enrolled");
    people::Person admin;
    admin.id = DemoAccounts::administrator;
    admin.name = "Demo Administrator";
    admin.administrator_role = true;
    if (!made->add(admin, "test")) throw std::runtime_error("no administrator");
    for (const auto& person : made->all()) {
      const auto code = made->issue_code(person.id, "test").value().code;
      const bool in = made->sign_in_by_code(person.id, code, "").right();
      if (!in || !made->set_pin_by_code(person.id, made->standing(person.id)->code_digest, DemoAccounts::pin))
        throw std::runtime_error("no PIN for " + person.id);
    }
    credentials = accounts::read_credentials(folder).credentials;
    std::filesystem::remove_all(folder);
  }
};

const Prepared& prepared() {
  static const Prepared once;
  return once;
}

}  // namespace

DemoAccounts::DemoAccounts(const ports::Clock& clock) : store(prepared().store), folder_(fresh_folder()) {
  if (accounts::write_credentials(folder_, prepared().credentials))
    throw std::runtime_error("the test's credentials cannot be written");
  accounts_ = opened(store, clock, folder_);
}

DemoAccounts::~DemoAccounts() {
  std::error_code ignored;
  std::filesystem::remove_all(folder_, ignored);
}

}  // namespace shankwright::hmi_test
