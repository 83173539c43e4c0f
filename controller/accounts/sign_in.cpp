#include <algorithm>

#include "accounts/inside.hpp"
#include "people/change.hpp"
#include "people/pin.hpp"

namespace shankwright::accounts {
namespace {

// Of whom nobody has heard there may be any number; so many are remembered.
constexpr std::size_t strangers_most = 256, addresses_most = 1024;

std::int64_t whole_seconds(std::int64_t us) {
  return (us + 999'999) / 1'000'000;
}

/// Room for one more: what is over goes first, then whatever comes first.
template <typename Map, typename Over>
void make_room(Map& map, std::size_t most, const Over& over) {
  if (map.size() < most) return;
  std::erase_if(map, [&](const auto& one) { return over(one.second); });
  if (map.size() >= most) map.erase(map.begin());
}

}  // namespace

people::Tries& Accounts::Inside::tries_of(const std::string& person, bool known) {
  if (known) return tries[person];
  const std::int64_t now = clock.monotonic_us();
  make_room(tries_of_strangers, strangers_most,
            [&](const people::Tries& one) { return !people::is_locked(one, now); });
  return tries_of_strangers[person];
}

Tried Accounts::Inside::attempt(Kind kind, const std::string& person, const std::string& secret,
                                const std::string& address) {
  const std::int64_t now = clock.monotonic_us();
  const auto picture_now = picture();
  const auto* account = picture_now->roster.account(person);
  const bool known = account != nullptr;
  std::int64_t wait = people::wait_us(tries_of(person, known), now);
  if (const auto found = addresses.find(address); found != addresses.end())
    wait = std::max(wait, people::wait_us(found->second, now, options.limits));
  if (wait > 0) return {Tried::Outcome::wait, 0, whole_seconds(wait)};

  const auto& standing = kind == Kind::pin ? picture_now->pins : picture_now->codes;
  const auto found = standing.find(person);
  bool usable = known && found != standing.end();
  if (usable && kind == Kind::code && account->code_until_utc_us != 0)
    usable = clock.utc_us() <= account->code_until_utc_us;
  // Whether or not there is anything to compare with, the same work is done.
  const bool same = matches(usable ? found->second : dummy, secret);
  if (same && usable) {
    note_success(person);
    return {Tried::Outcome::right, options.limits.free_tries, 0};
  }
  note_failure(person, known, address);
  const auto& after = tries_of(person, known);
  return {Tried::Outcome::wrong, people::tries_left(after, now, options.limits),
          whole_seconds(people::wait_us(after, now))};
}

void Accounts::Inside::note_failure(const std::string& person, bool known, const std::string& address) {
  const std::int64_t now = clock.monotonic_us();
  auto& of_person = tries_of(person, known);
  of_person = people::after_failure(of_person, now, options.limits);
  if (!address.empty()) {
    make_room(addresses, addresses_most,
              [&](const people::AddressTries& one) { return one.drained_at_us <= now; });
    auto& of_address = addresses[address];
    of_address = people::after_failure(of_address, now, options.limits);
  }
  const std::int64_t wait = people::wait_us(of_person, now);
  if (!known || wait == 0) return;
  const std::lock_guard lock(changing);
  const auto picture_now = picture();
  const auto* account = picture_now->roster.account(person);
  if (account == nullptr) return;
  // Taking away needs no record to count: where it cannot be written, the wait holds until a restart.
  (void)append("station", people::event::locked_out,
               people::locked_out_body(*account, of_person.failed, clock.utc_us() + wait, address))
      .ok();
}

void Accounts::Inside::note_success(const std::string& person) {
  tries.erase(person);
  const std::lock_guard lock(changing);
  const auto picture_now = picture();
  const auto* account = picture_now->roster.account(person);
  if (account == nullptr || account->failures == 0) return;
  // Where this cannot be written, a restart remembers the failures; the right PIN is taken all the same.
  (void)append(person, people::event::unlocked, people::unlocked_body(*account, "signed in")).ok();
}

Tried Accounts::sign_in(const std::string& person, const std::string& pin, const std::string& address) {
  const std::lock_guard lock(inside_->trying);
  return inside_->attempt(Inside::Kind::pin, person, pin, address);
}

Tried Accounts::sign_in_by_code(const std::string& person, const std::string& code,
                                const std::string& address) {
  const std::lock_guard lock(inside_->trying);
  return inside_->attempt(Inside::Kind::code, person, people::plain_code(code), address);
}

Tried Accounts::confirm(const std::string& person, const std::string& pin) {
  return sign_in(person, pin, "");
}

Result<bool> Accounts::Inside::set_pin(const std::string& person, const std::string& encoded,
                                       std::string_view by) {
  const auto before = picture();
  const auto* account = before->roster.account(person);
  if (account == nullptr) return nobody(person);
  const std::string body = people::pin_set_body(*account, digest_of(encoded), by);
  auto done = replace(person, &Credentials::Of::pins, encoded,
                      [&] { return append(person, people::event::pin_set, body); });
  if (done) codes_in_memory.erase(person);
  return done;
}

Result<bool> Accounts::set_pin_by_code(const std::string& person, const std::string& code_digest,
                                       const std::string& pin) {
  if (const auto problem = people::check_pin(pin, person)) return *problem;
  std::string encoded;
  {
    const std::lock_guard lock(inside_->trying);
    encoded = hashed(pin, inside_->options.cost);
  }
  const std::lock_guard lock(inside_->changing);
  const auto picture = inside_->picture();
  const auto* account = picture->roster.account(person);
  if (account == nullptr) return nobody(person);
  const bool waits =
      picture->codes.contains(person) && account->code_digest == code_digest &&
      (account->code_until_utc_us == 0 || inside_->clock.utc_us() <= account->code_until_utc_us);
  if (!waits) return Problem{"code", "a one-time code that has been used or has ended", "a new one"};
  return inside_->set_pin(person, encoded, "code");
}

Accounts::PinChange Accounts::change_pin(const std::string& person, const std::string& old_pin,
                                         const std::string& pin) {
  PinChange out;
  std::string encoded;
  {
    const std::lock_guard lock(inside_->trying);
    out.old_pin = inside_->attempt(Inside::Kind::pin, person, old_pin, "");
    if (!out.old_pin.right()) return out;
    out.problem = people::check_pin(pin, person);
    if (!out.problem && pin == old_pin) out.problem = Problem{"", "the PIN as it was", "another PIN"};
    if (out.problem) return out;
    encoded = hashed(pin, inside_->options.cost);
  }
  const std::lock_guard lock(inside_->changing);
  if (const auto done = inside_->set_pin(person, encoded, "pin"); !done) out.problem = done.problem();
  return out;
}

}  // namespace shankwright::accounts
