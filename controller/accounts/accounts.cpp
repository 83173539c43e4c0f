#include "accounts/accounts.hpp"

#include <fmt/format.h>

#include <algorithm>

#include "accounts/inside.hpp"
#include "people/change.hpp"

namespace shankwright::accounts {
namespace {

/// The first of these that has the digest the record keeps, or nothing.
std::string standing_for(const std::string& digest, const std::vector<std::string>& encoded) {
  if (digest.empty()) return "";
  for (const auto& one : encoded)
    if (digest_of(one) == digest) return one;
  return "";
}

}  // namespace

Accounts::Accounts(std::unique_ptr<Inside> inside) : inside_(std::move(inside)) {}
Accounts::~Accounts() = default;

Result<std::unique_ptr<Accounts>> Accounts::open(ports::RecordStore& store, const ports::Clock& clock,
                                                 Options options) {
  auto inside = std::make_unique<Inside>(store, clock, std::move(options));
  const auto entries = store.entries_of_kind("account", 0);
  if (!entries) return entries.problem();
  people::Roster roster;
  for (const auto& stored : entries.value()) {
    auto next =
        people::apply(std::move(roster), {stored.sequence, stored.entry.event, stored.entry.body_json});
    if (!next) return next.problem();
    roster = std::move(next).value();
  }
  auto read = read_credentials(inside->options.folder);
  inside->file = std::move(read.credentials);
  inside->notices = std::move(read.notices);
  inside->dummy = hashed(fresh_code(), inside->options.cost);
  const std::int64_t now_utc = clock.utc_us(), now = clock.monotonic_us();
  for (const auto& [id, account] : roster.accounts)
    if (account.failures > 0)
      inside->tries[id] = people::restored(account.failures, account.locked_until_utc_us - now_utc, now,
                                           inside->options.limits);
  inside->show(std::move(roster));
  const auto picture = inside->picture();
  for (const auto& [id, account] : picture->roster.accounts)
    if (!account.pin_digest.empty() && !picture->pins.contains(id))
      inside->notices.push_back(
          fmt::format("The PIN of {} in {} is not the one on record, so it does not count. An administrator "
                      "issues a one-time code.",
                      id, credentials_file(inside->options.folder).string()));
  inside->prune();
  return std::unique_ptr<Accounts>(new Accounts(std::move(inside)));
}

void Accounts::Inside::show(people::Roster roster) {
  auto next = std::make_shared<Picture>();
  next->roster = std::move(roster);
  for (const auto& [id, account] : next->roster.accounts) {
    const auto found = file.people.find(id);
    const Credentials::Of of = found == file.people.end() ? Credentials::Of{} : found->second;
    if (const auto pin = standing_for(account.pin_digest, of.pins); !pin.empty()) next->pins[id] = pin;
    std::vector<std::string> codes = of.codes;
    if (const auto in_memory = codes_in_memory.find(id); in_memory != codes_in_memory.end())
      codes.push_back(in_memory->second);
    if (const auto code = standing_for(account.code_digest, codes); !code.empty()) next->codes[id] = code;
  }
  const std::lock_guard lock(seen);
  shown = std::move(next);
}

Result<bool> Accounts::Inside::append(const std::string& actor, std::string_view event,
                                      const std::string& body) {
  const auto before = picture();
  // What could not be read back must never get into the record.
  if (const auto tried = people::apply(before->roster, {0, std::string(event), body}); !tried)
    return tried.problem();
  ports::NewEntry entry;
  entry.at_utc_us = clock.utc_us();
  entry.kind = "account";
  entry.event = event;
  entry.actor = actor;
  entry.body_json = body;
  const auto written = store.append({entry});
  if (!written) {
    record_in_doubt = true;
    return written.problem();
  }
  auto after = people::apply(before->roster, {written.value(), std::string(event), body});
  if (!after) return after.problem();
  show(std::move(after).value());
  return true;
}

Result<bool> Accounts::Inside::replace(const std::string& person, List list, const std::string& encoded,
                                       const std::function<Result<bool>()>& record) {
  Credentials with = file;
  (with.people[person].*list).push_back(encoded);
  if (const auto problem = write_credentials(options.folder, with)) return *problem;
  file = std::move(with);
  if (auto recorded = record(); !recorded) return recorded;
  prune();
  return true;
}

void Accounts::Inside::prune() {
  if (record_in_doubt) return;
  const auto now = picture();
  Credentials kept;
  const auto keep = [&](const std::string& id, List list,
                        const std::map<std::string, std::string>& standing) {
    const auto of = file.people.find(id);
    const auto one = standing.find(id);
    if (of == file.people.end() || one == standing.end()) return;
    const auto& all = of->second.*list;
    if (std::find(all.begin(), all.end(), one->second) != all.end()) (kept.people[id].*list) = {one->second};
  };
  for (const auto& [id, account] : now->roster.accounts) {
    keep(id, &Credentials::Of::pins, now->pins);
    keep(id, &Credentials::Of::codes, now->codes);
  }
  if (kept == file) return;
  // What stays in the file by a failure counts for nothing: the record does not stand for it.
  if (!write_credentials(options.folder, kept)) file = std::move(kept);
}

std::optional<people::Person> Accounts::person(const std::string& id) const {
  const auto picture = inside_->picture();
  const auto* account = picture->roster.account(id);
  return account == nullptr ? std::nullopt : std::optional(account->person);
}

std::vector<people::Person> Accounts::all() const {
  std::vector<people::Person> out;
  const auto picture = inside_->picture();
  for (const auto& [id, account] : picture->roster.accounts)
    if (!account.removed) out.push_back(account.person);
  return out;
}

std::vector<std::string> Accounts::notices() const {
  return inside_->notices;
}

bool Accounts::has_administrator() const {
  const auto picture = inside_->picture();
  return std::any_of(picture->roster.accounts.begin(), picture->roster.accounts.end(), [&](const auto& one) {
    return one.second.person.administrator_role && !one.second.removed && picture->pins.contains(one.first);
  });
}

std::optional<Accounts::Standing> Accounts::standing(const std::string& person) const {
  const auto picture = inside_->picture();
  const auto* account = picture->roster.account(person);
  if (account == nullptr) return std::nullopt;
  return Standing{account->person, account->sessions_ended_at,
                  picture->codes.contains(person) ? account->code_digest : ""};
}

Problem problem_of(const Tried& tried, const std::string& place) {
  if (tried.outcome == Tried::Outcome::wait)
    return {place, "too many tries that failed", fmt::format("another try in {} s", tried.wait_s)};
  if (tried.wait_s > 0)
    return {place, "a wrong one",
            fmt::format("the right one, in {} s: too many tries have failed", tried.wait_s)};
  return {place, "a wrong one",
          fmt::format("the right one; {} more {} may fail before a wait", tried.tries_left,
                      tried.tries_left == 1 ? "try" : "tries")};
}

}  // namespace shankwright::accounts
