#include "drivers/modbus/order_queue.hpp"

#include <algorithm>
#include <utility>

namespace shankwright::modbus {

void OrderQueue::add(Waiting waiting) {
  const std::uint16_t token = waiting.order.token;
  if (waiting.order.kind == ports::PressOrder::Kind::none || token == 0)
    return drop(
        token,
        waiting.order.kind == ports::PressOrder::Kind::none ? "no order to send" : "token 0 is no order",
        false);
  given_ = token;
  if (makes_safer(waiting.order.kind)) {
    const auto is_permit = [](const Waiting& one) {
      return one.order.kind == ports::PressOrder::Kind::permit_one_bite;
    };
    for (const Waiting& one : waiting_)
      if (is_permit(one)) drop(one.order.token, "a withdrawal overtook it", false);
    std::erase_if(waiting_, is_permit);
    const auto place = std::find_if(waiting_.begin(), waiting_.end(),
                                    [](const Waiting& one) { return !makes_safer(one.order.kind); });
    waiting_.insert(place, std::move(waiting));
  } else {
    if (waiting_.size() >= most_waiting) return drop(token, "too many orders wait already", false);
    waiting_.push_back(std::move(waiting));
  }
}

void OrderQueue::drop(std::uint16_t token, std::string why, bool may_have_arrived) {
  dropped_.push_back({token, std::move(why), may_have_arrived});
}

void OrderQueue::drop_late(std::int64_t now_us, const std::string& link_words) {
  const auto late = [&](const Waiting& one) { return now_us > one.not_after_us; };
  for (const Waiting& one : waiting_)
    if (late(one)) drop(one.order.token, "too late" + (link_words.empty() ? "" : ": " + link_words), false);
  std::erase_if(waiting_, late);
}

std::optional<OrderQueue::Waiting> OrderQueue::next(bool trusted, std::int64_t now_us,
                                                    std::int64_t spacing_us) {
  for (auto one = waiting_.begin(); one != waiting_.end(); ++one) {
    const bool safer = makes_safer(one->order.kind);
    if (!safer && !trusted) continue;
    // The press sees an order as a change of token once per cycle; two writes within one cycle would lose the
    // first. Losing a permit to a withdrawal is what the withdrawal is for, so it does not wait behind one.
    const bool may_overwrite = safer && !last_was_safer_;
    if (!may_overwrite && last_written_us_ && now_us - *last_written_us_ < spacing_us) return std::nullopt;
    Waiting out = std::move(*one);
    waiting_.erase(one);
    if (held_ && *held_ == out.order.token) {
      drop(out.order.token, "the press holds this token already and would not see a change", false);
      return next(trusted, now_us, spacing_us);
    }
    return out;
  }
  return std::nullopt;
}

void OrderQueue::written(const Waiting& waiting, std::int64_t now_us) {
  held_ = waiting.order.token;
  last_written_us_ = now_us;
  last_was_safer_ = makes_safer(waiting.order.kind);
}

std::vector<ports::Press::Dropped> OrderQueue::take_dropped() {
  return std::exchange(dropped_, {});
}

std::uint16_t OrderQueue::next_token(std::uint16_t echo) const {
  if (!held_) return 0;
  auto token = given_.value_or(*held_);
  do ++token;
  while (token == 0 || token == *held_ || token == echo);
  return token;
}

}  // namespace shankwright::modbus
