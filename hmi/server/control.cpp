#include "hmi/server/control.hpp"

#include "hmi/server/sessions.hpp"

namespace shankwright::hmi {

/// Call with mutex_ held.
void Control::drop_ended(std::int64_t now_us) const {
  if (!holder_) return;
  const bool silent = now_us - heard_us_ > silent_us_most;
  if (!silent && sessions_.peek(holder_->token, now_us)) return;
  holder_.reset();
  ++changes_;
}

/// Call with mutex_ held.
void Control::hold(const std::string& token, const std::string& person_id, const std::string& person_name,
                   Now now) {
  holder_ = Holder{token, person_id, person_name, now.utc_us};
  heard_us_ = now.monotonic_us;
  ++changes_;
}

std::optional<Control::Holder> Control::holder(std::int64_t now_us) const {
  const std::lock_guard lock(mutex_);
  drop_ended(now_us);
  return holder_;
}

std::uint64_t Control::changes(std::int64_t now_us) const {
  const std::lock_guard lock(mutex_);
  drop_ended(now_us);
  return changes_;
}

Control::Act Control::begin(const std::string& token, const std::string& person_id,
                            const std::string& person_name, Now now) {
  Act act;
  act.lock_ = std::shared_lock(acts_);
  const std::lock_guard lock(mutex_);
  drop_ended(now.monotonic_us);
  act.newly_taken_ = !holder_;
  // Who signs in and acts at another screen carries control along: it is two people who must not drive one
  // press.
  if (!holder_ || (holder_->token != token && holder_->person_id == person_id))
    hold(token, person_id, person_name, now);
  if (holder_->token == token)
    heard_us_ = now.monotonic_us;
  else
    act.held_elsewhere_ = holder_;
  return act;
}

Control::TakeOver Control::take(const std::string& token, const std::string& person_id,
                                const std::string& person_name, const std::string& from, Now now,
                                const std::function<bool(const Holder&)>& agreed) {
  const std::unique_lock no_act_runs(acts_);
  std::optional<Holder> before;
  {
    const std::lock_guard lock(mutex_);
    drop_ended(now.monotonic_us);
    before = holder_;
  }
  // The answer may wait for the disk; screens go on being told who holds control meanwhile.
  if (before && before->token != token) {
    if (before->person_id != from) return TakeOver::held_by_another;
    if (!agreed(*before)) return TakeOver::refused;
  }
  const std::lock_guard lock(mutex_);
  if (!before || before->token != token) hold(token, person_id, person_name, now);
  heard_us_ = now.monotonic_us;
  return TakeOver::taken;
}

bool Control::give_up(const std::string& token) {
  const std::lock_guard lock(mutex_);
  if (!holder_ || holder_->token != token) return false;
  holder_.reset();
  ++changes_;
  return true;
}

void Control::heard(const std::string& token, std::int64_t now_us) {
  const std::lock_guard lock(mutex_);
  if (holder_ && holder_->token == token) heard_us_ = now_us;
}

}  // namespace shankwright::hmi
