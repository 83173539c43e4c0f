#pragma once
#include <cstdint>
#include <deque>
#include <optional>
#include <string>
#include <vector>

#include "ports/ports.hpp"

namespace shankwright::modbus {

/// Orders waiting for the wire, those that were dropped, and the tokens. Pure, not thread-safe.
class OrderQueue {
 public:
  struct Waiting {
    ports::PressOrder order;
    std::vector<std::uint16_t> registers;
    std::int64_t not_after_us = 0;
  };

  /// A withdrawal or an opening goes first and takes the place of every permit still waiting.
  void add(Waiting waiting);
  void drop(std::uint16_t token, std::string why, bool may_have_arrived);
  /// Drops what is too late, giving `link_words` as the reason it could not go before.
  void drop_late(std::int64_t now_us, const std::string& link_words);

  /// The order to write now, if any. `trusted`: the link is connected and its evidence fresh, so anything may
  /// go; otherwise only orders that make the press safer.
  [[nodiscard]] std::optional<Waiting> next(bool trusted, std::int64_t now_us, std::int64_t spacing_us);
  void written(const Waiting& waiting, std::int64_t now_us);
  [[nodiscard]] std::vector<ports::Press::Dropped> take_dropped();
  [[nodiscard]] bool any_urgent() const {
    return !waiting_.empty() && makes_safer(waiting_.front().order.kind);
  }
  [[nodiscard]] bool empty() const { return waiting_.empty(); }

  /// What the press's token register was seen to hold.
  void learn_held(std::uint16_t token) { held_ = token; }
  void forget_held() { held_.reset(); }
  [[nodiscard]] std::optional<std::uint16_t> held() const { return held_; }
  /// Non-zero, not what the press holds, not `echo` (the press's permit_echo), and after every token given
  /// before. 0 while what the press holds is unknown.
  [[nodiscard]] std::uint16_t next_token(std::uint16_t echo) const;

  [[nodiscard]] static bool makes_safer(ports::PressOrder::Kind kind) {
    return kind == ports::PressOrder::Kind::withdraw_permit || kind == ports::PressOrder::Kind::open_dies;
  }

 private:
  static constexpr std::size_t most_waiting = 16;
  std::deque<Waiting> waiting_;
  std::vector<ports::Press::Dropped> dropped_;
  std::optional<std::uint16_t> held_, given_;
  std::optional<std::int64_t> last_written_us_;
  bool last_was_safer_ = false;
};

}  // namespace shankwright::modbus
