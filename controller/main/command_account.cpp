#include <fmt/format.h>

#include <CLI/CLI.hpp>
#include <iostream>
#include <memory>
#include <nlohmann/json.hpp>

#include "accounts/accounts.hpp"
#include "main/commands.hpp"
#include "main/system_clock.hpp"
#include "people/roles.hpp"
#include "record/store.hpp"
#include "review/time.hpp"

namespace shankwright::command {
namespace {

constexpr auto actor = "console";

struct Options {
  std::string data = "data", person, name, family, until;
  std::vector<std::string> roles;
  bool as_data = false;
};

int fail(int code, const std::string& text) {
  std::cerr << "shankwright account: " << text << '\n';
  return code;
}

/// The record, held by nobody else, and the accounts in it.
struct Opened {
  SystemClock clock;
  std::shared_ptr<record::SqliteStore> store;
  std::unique_ptr<accounts::Accounts> accounts;
};

Result<std::unique_ptr<Opened>> open(const Options& options) {
  std::error_code ignored;
  if (!std::filesystem::exists(std::filesystem::path(options.data) / "record.sqlite3", ignored))
    return Problem{options.data, "no record",
                   "the data folder of a station that has run: give it with --data"};
  auto out = std::make_unique<Opened>();
  auto store = record::SqliteStore::open(options.data);
  if (!store) return store.problem();
  out->store = std::move(store).value();
  accounts::Options account_options;
  account_options.folder = options.data;
  auto opened = accounts::Accounts::open(*out->store, out->clock, account_options);
  if (!opened) return opened.problem();
  out->accounts = std::move(opened).value();
  for (const auto& notice : out->accounts->notices()) std::cerr << "shankwright account: " << notice << '\n';
  return out;
}

std::string joined(const std::vector<std::string>& texts) {
  std::string out;
  for (const auto& text : texts) out += (out.empty() ? "" : ", ") + text;
  return out.empty() ? "no role" : out;
}

nlohmann::ordered_json listed_json(const accounts::Listed& listed) {
  nlohmann::ordered_json qualified = nlohmann::ordered_json::object();
  for (const auto& [family, day] : listed.person.qualified_until_day)
    qualified[family] = people::day_text(day);
  return {{"id", listed.person.id},
          {"name", listed.person.name},
          {"roles", people::roles_of(listed.person)},
          {"qualified", qualified},
          {"has_pin", listed.has_pin},
          {"code_waits", listed.code_waits},
          {"locked_for_s", listed.wait_s}};
}

std::string listed_text(const accounts::Listed& listed) {
  std::string out = fmt::format("{:<16} {:<24} {:<40} {}\n", listed.person.id, listed.person.name,
                                joined(people::roles_of(listed.person)),
                                listed.wait_s > 0   ? fmt::format("locked for {} s", listed.wait_s)
                                : listed.code_waits ? "one-time code waits"
                                : listed.has_pin    ? "PIN set"
                                                    : "no PIN");
  for (const auto& [family, day] : listed.person.qualified_until_day)
    out += fmt::format("{:<16} qualified for {} until {}\n", "", family, people::day_text(day));
  return out;
}

int list(const Options& options, const accounts::Accounts& accounts) {
  auto people = nlohmann::ordered_json::array();
  for (const auto& listed : accounts.list()) {
    if (options.as_data)
      people.push_back(listed_json(listed));
    else
      std::cout << listed_text(listed);
  }
  if (options.as_data) std::cout << nlohmann::ordered_json{{"people", people}}.dump() << '\n';
  std::cout.flush();
  return std::cout ? 0 : fail(3, "the output could not be written whole");
}

int code(const Options& options, accounts::Accounts& accounts) {
  const auto issued = accounts.issue_code(options.person, actor);
  if (!issued) return fail(1, issued.problem().text());
  const std::string until = review::utc_text(issued.value().until_utc_us, 0);
  if (options.as_data)
    std::cout << nlohmann::ordered_json{{"person", options.person},
                                        {"code", issued.value().code},
                                        {"until_utc", until}}
                     .dump()
              << '\n';
  else
    std::cout << fmt::format(
        "one-time code for {}: {}\nIt sets that person's PIN on the page, once, until {}.\n", options.person,
        issued.value().code, until);
  return std::cout.flush() ? 0 : fail(3, "the output could not be written whole");
}

int told(const Result<bool>& done, const std::string& what) {
  if (!done) return fail(1, done.problem().text());
  std::cout << what << '\n';
  return 0;
}

int add(const Options& options, accounts::Accounts& accounts) {
  people::Person person;
  person.id = options.person;
  person.name = options.name;
  const auto with = people::with_roles(person, options.roles);
  return told(
      accounts.add(with.value_or(person), actor),
      fmt::format("{} is added; \"account code {}\" gives the code that sets a PIN", person.id, person.id));
}

int roles(const Options& options, accounts::Accounts& accounts) {
  return told(accounts.change_roles(options.person, options.roles, actor),
              fmt::format("{}: {}", options.person, joined(options.roles)));
}

int qualify(const Options& options, accounts::Accounts& accounts) {
  std::optional<std::int64_t> until;
  if (options.until != "never") {
    until = people::day_of(options.until);
    if (!until)
      return fail(2, Problem{"UNTIL", options.until, "a day, for example 2031-12-31, or never"}.text());
  }
  return told(accounts.qualify(options.person, options.family, until, actor),
              fmt::format("{}: {} {}", options.person, options.family,
                          until ? "until " + options.until : std::string("no more")));
}

int unlock(const Options& options, accounts::Accounts& accounts) {
  return told(accounts.unlock(options.person, actor), options.person + " may try again");
}

int remove(const Options& options, accounts::Accounts& accounts) {
  return told(accounts.remove(options.person, actor), options.person + " is removed");
}

template <typename Act>
int with_accounts(const Options& options, const Act& act) {
  const auto opened = open(options);
  if (!opened) {
    const bool held = opened.problem().found.find("another station") != std::string::npos;
    return fail(
        3, opened.problem().text() +
               (held ? "\nA station is at work on this record: use its page, signed in as an administrator"
                     : ""));
  }
  return act(options, *opened.value()->accounts);
}

}  // namespace

void add_account(CLI::App& app, int& exit_code) {
  CLI::App* const command =
      app.add_subcommand("account", "People of a data folder while no station runs on it");
  command->require_subcommand(1);
  command->footer(
      "Every change goes on record as \"console\". While a station runs, use the page as an administrator.\n"
      "Examples:\n"
      "  shankwright account list --data data\n"
      "  shankwright account add eve \"Eve Example\" --role operator --data data\n"
      "  shankwright account code eve --data data\n"
      "A lost administrator: shankwright station ... --new-administrator-code\n"
      "Exit 0 done, 1 refused, 2 wrong usage, 3 when the record cannot be opened.");
  const auto options = std::make_shared<Options>();
  const auto sub = [&](const char* name, const char* about, auto act) {
    CLI::App* const one = command->add_subcommand(name, about);
    one->add_option("--data", options->data, "Data folder of the station")
        ->envname("SHANKWRIGHT_DATA")
        ->capture_default_str();
    one->callback([options, act, &exit_code] { exit_code = with_accounts(*options, act); });
    return one;
  };
  const auto person = [&](CLI::App* one) {
    one->add_option("PERSON", options->person, "Id of the person")->required();
    return one;
  };
  std::vector<std::string> names;
  for (const auto& role : people::role_names) names.emplace_back(role.name);
  const auto some_roles = [&](CLI::App* one) {
    return one->add_option("--role", options->roles, "A role; repeat for more")->check(CLI::IsMember(names));
  };
  sub("list", "Everybody, with roles, qualifications and state", list)
      ->add_flag("--json", options->as_data, "Print as JSON");
  person(sub("code", "Issue a one-time code that sets a PIN, good for a day", code))
      ->add_flag("--json", options->as_data, "Print as JSON");
  CLI::App* const adding = person(sub("add", "Add a person", add));
  adding->add_option("NAME", options->name, "The person's name")->required();
  some_roles(adding);
  some_roles(person(sub("roles", "Give a person exactly these roles; none without --role", roles)));
  CLI::App* const qualifying = person(sub("qualify", "Qualify a person for a family of recipes", qualify));
  qualifying->add_option("FAMILY", options->family, "Family of recipes")->required();
  qualifying->add_option("UNTIL", options->until, "Last day, for example 2031-12-31, or never")->required();
  person(sub("unlock", "End a lock-out", unlock));
  person(sub("remove", "Remove a person; the id never becomes somebody else's", remove));
}

}  // namespace shankwright::command
