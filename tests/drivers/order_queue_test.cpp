#include <catch2/catch.hpp>

#include "drivers/modbus/order_queue.hpp"

using namespace shankwright;
using modbus::OrderQueue;
using Kind = ports::PressOrder::Kind;

namespace {

OrderQueue::Waiting waiting(Kind kind, std::uint16_t token, std::int64_t not_after_us = 1000000) {
  OrderQueue::Waiting out;
  out.order.kind = kind;
  out.order.token = token;
  out.not_after_us = not_after_us;
  return out;
}
constexpr std::int64_t spacing_us = 30000;

}  // namespace

TEST_CASE("On a link that is not trusted only orders that make the press safer go out") {
  for (const Kind kind : {Kind::permit_one_bite, Kind::withdraw_permit, Kind::open_dies, Kind::clear_fault,
                          Kind::zero_pressure}) {
    OrderQueue queue;
    queue.add(waiting(kind, 5));
    const bool safer = kind == Kind::withdraw_permit || kind == Kind::open_dies;
    CHECK(queue.next(false, 0, spacing_us).has_value() == safer);
    if (!safer) CHECK(queue.next(true, 0, spacing_us)->order.token == 5);
  }
}

TEST_CASE("A withdrawal goes first and takes the place of a permit that still waits") {
  OrderQueue queue;
  queue.add(waiting(Kind::zero_pressure, 4));
  queue.add(waiting(Kind::permit_one_bite, 5));
  queue.add(waiting(Kind::withdraw_permit, 6));
  const auto dropped = queue.take_dropped();
  REQUIRE(dropped.size() == 1);
  CHECK(dropped[0].token == 5);
  CHECK_FALSE(dropped[0].may_have_arrived);
  CHECK(queue.next(true, 0, spacing_us)->order.token == 6);
  CHECK(queue.next(true, 0, spacing_us)->order.token == 4);
}

TEST_CASE("An order too late is dropped with why, and one in time is kept") {
  OrderQueue queue;
  queue.add(waiting(Kind::permit_one_bite, 5, 1000));
  queue.drop_late(1000, "cannot connect");
  CHECK(queue.take_dropped().empty());
  queue.drop_late(1001, "cannot connect");
  const auto dropped = queue.take_dropped();
  REQUIRE(dropped.size() == 1);
  CHECK(dropped[0].token == 5);
  CHECK_THAT(dropped[0].why, Catch::Contains("too late") && Catch::Contains("cannot connect"));
  CHECK_FALSE(dropped[0].may_have_arrived);
  CHECK(queue.empty());
}

TEST_CASE("Two orders are never written within one cycle of the press, except to take back a permit") {
  OrderQueue queue;
  queue.written(waiting(Kind::permit_one_bite, 1), 100000);
  queue.add(waiting(Kind::zero_pressure, 2));
  CHECK_FALSE(queue.next(true, 100000 + spacing_us - 1, spacing_us));
  queue.add(waiting(Kind::withdraw_permit, 3));
  const auto withdrawal = queue.next(true, 100001, spacing_us);
  REQUIRE(withdrawal);
  CHECK(withdrawal->order.token == 3);
  queue.written(*withdrawal, 100001);
  queue.add(waiting(Kind::open_dies, 4));  // would overwrite the withdrawal before the press saw it
  CHECK_FALSE(queue.next(true, 100002, spacing_us));
  CHECK(queue.next(true, 100001 + spacing_us, spacing_us)->order.token == 4);
}

TEST_CASE("A token is unknown until the press was seen, and then always a change") {
  OrderQueue queue;
  CHECK(queue.next_token(0) == 0);
  for (int held = 0; held <= 65535; ++held) {
    queue.learn_held(static_cast<std::uint16_t>(held));
    for (const int echo : {0, held, (held + 1) & 0xFFFF, 65535}) {
      const std::uint16_t token = queue.next_token(static_cast<std::uint16_t>(echo));
      if (token == 0 || token == held || token == echo)
        FAIL("held " << held << ", echo " << echo << ": " << token);
    }
  }
  queue.learn_held(7);
  queue.add(waiting(Kind::permit_one_bite, 8));
  CHECK(queue.next_token(0) == 9);  // 8 is spoken for
  queue.forget_held();
  CHECK(queue.next_token(0) == 0);
  queue.learn_held(9);  // a press that was switched off may hold anything
  CHECK(queue.next_token(0) == 10);
}

TEST_CASE("What is no order is dropped at once") {
  OrderQueue queue;
  queue.add(waiting(Kind::permit_one_bite, 0));
  queue.add(waiting(Kind::none, 3));
  queue.learn_held(6);
  queue.add(waiting(Kind::permit_one_bite, 6));
  CHECK_FALSE(queue.next(true, 0, spacing_us));
  CHECK(queue.take_dropped().size() == 3);
  for (std::uint16_t token = 10; token < 40; ++token) queue.add(waiting(Kind::clear_fault, token));
  CHECK(queue.take_dropped().size() == 14);  // sixteen may wait
}
