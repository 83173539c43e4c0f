#include <catch2/catch.hpp>
#include <chrono>
#include <thread>

#include "client.hpp"

// The connection loop, spoken to by hand: what a browser never sends, what a slow or rude peer does.
using namespace shankwright;
using namespace shankwright::hmi_test;

TEST_CASE("one connection carries many requests, also sent ahead of the answers") {
  const Rig rig;
  Connection connection(rig.port);
  std::string ahead;
  for (int i = 0; i < 50; ++i)
    ahead += request_text({.path = i % 2 == 0 ? "/api/v1/station" : "/api/v1/nowhere"});
  connection.send(ahead);
  for (int i = 0; i < 50; ++i) CHECK(connection.receive().status == (i % 2 == 0 ? 200 : 404));
}

TEST_CASE("a POST or DELETE without Content-Length is taken as an empty body, at once") {
  const Rig rig;
  const auto token = rig.sign_in("op-1");
  Connection connection(rig.port);
  for (const std::string method : {"POST", "DELETE"}) {
    connection.send(
        method + " /api/v1/fittings/AT-gauge/permit HTTP/1.1\r\nHost: localhost\r\nAuthorization: Bearer " +
        token + "\r\n\r\n");
    CHECK(connection.receive(2).status == 200);
  }
}

TEST_CASE("a chunked body is read like any other, within the same limit") {
  const Rig rig;
  const std::string head =
      "POST /api/v1/session HTTP/1.1\r\nHost: localhost\r\nContent-Type: "
      "application/json\r\nTransfer-Encoding: chunked\r\n\r\n";
  Connection small(rig.port);
  small.send(head + "8\r\n{\"person\r\n16\r\n\":\"op-1\",\"pin\":\"4711\"}\r\n0\r\n\r\n");
  CHECK(small.receive().status == 200);
  Connection large(rig.port);
  large.send(head);
  for (int i = 0; i < 80; ++i) large.send("400\r\n" + std::string(1024, ' ') + "\r\n");
  CHECK(large.receive().status == 413);
}

TEST_CASE("what is left of a refused body never passes for the next request") {
  const Rig rig;
  const auto token = rig.sign_in("op-1");
  const std::string inner =
      "POST /api/v1/press/open-dies HTTP/1.1\r\nHost: localhost\r\nAuthorization: Bearer " + token +
      "\r\n\r\n";
  const std::string length = "Content-Length: " + std::to_string(inner.size()) + "\r\n\r\n";
  for (const std::string head :
       {"GET /api/v1/station HTTP/1.1\r\nHost: localhost\r\n", "OPTIONS / HTTP/1.1\r\nHost: localhost\r\n",
        "POST /api/v1/session HTTP/1.1\r\nHost: localhost\r\nContent-Type: text/plain\r\n",
        "DELETE /api/v1/session HTTP/1.1\r\nHost: localhost\r\nContent-Encoding: gzip\r\n"}) {
    Connection connection(rig.port);
    connection.send(head + length + inner);
    INFO(head);
    CHECK(connection.receive().status != 0);
    CHECK(connection.receive(2).status == 0);
  }
  CHECK(rig.station.calls() == 0);
}

TEST_CASE("requests that are not HTTP are answered 400 and the connection ends") {
  const Rig rig;
  for (const std::string text : {"\r\n\r\n", "hello\r\n\r\n", "GET\r\n\r\n", "GET / HTTP/9.9\r\n\r\n",
                                 "FETCH / HTTP/1.1\r\n\r\n", "TRACE / HTTP/1.1\r\nHost: localhost\r\n\r\n"}) {
    Connection connection(rig.port);
    connection.send(text);
    INFO(text);
    const auto answer = connection.receive(3);
    CHECK(answer.status == 400);
    CHECK(answer.json().contains("problem"));
  }
  Connection bytes(rig.port);
  bytes.send(std::string(300'000, '\0'));
  CHECK(bytes.closes_within(8000));
}

TEST_CASE("a body that never comes ends in a refusal, not in a thread that waits for ever") {
  const Rig rig;
  Connection connection(rig.port);
  connection.send(
      "POST /api/v1/session HTTP/1.1\r\nHost: localhost\r\nContent-Type: application/json\r\nContent-Length: "
      "20\r\n\r\n{\"per");
  CHECK(connection.receive(12).status == 400);
  Connection cut(rig.port);
  cut.send(
      "POST /api/v1/session HTTP/1.1\r\nHost: localhost\r\nContent-Type: application/json\r\nContent-Length: "
      "20\r\n\r\n{\"per");
  cut.end_sending();
  CHECK(cut.receive(3).status == 400);
}

TEST_CASE("peers that send a byte at a time do not keep others out") {
  const Rig rig;
  std::vector<std::unique_ptr<Connection>> slow;
  for (int i = 0; i < 30; ++i) {
    slow.push_back(std::make_unique<Connection>(rig.port));
    slow.back()->send("GET /api/v1/station HTTP/1.1\r\nX: ");
  }
  CHECK(rig.get("/api/v1/station").status == 200);
  for (auto& peer : slow) CHECK(peer->closes_within(12'000));
}

TEST_CASE("many clients at once are all answered") {
  const Rig rig;
  std::atomic<int> answered{0};
  std::vector<std::thread> clients;
  for (int i = 0; i < 16; ++i)
    clients.emplace_back([&] {
      for (int k = 0; k < 20; ++k)
        if (rig.call({.path = "/api/v1/station"}).status == 200) ++answered;
    });
  for (auto& client : clients) client.join();
  CHECK(answered == 320);
}

TEST_CASE("a second server on the same port is told that it is taken") {
  const Rig rig;
  hmi::ServerOptions options;
  options.port = rig.port;
  FakeClock clock;
  FakeStation station;
  FakeRecord record;
  DemoAccounts accounts(clock);
  hmi::Server second(options, station, record, rig.library, rig.shop, clock, accounts.get());
  const auto started = second.start();
  REQUIRE_FALSE(started.ok());
  CHECK(started.problem().place == "127.0.0.1:" + std::to_string(rig.port));
}

TEST_CASE("an address that is not this machine's is a problem, not a crash") {
  hmi::ServerOptions options;
  options.host = "192.0.2.1";  // RFC 5737: documentation only
  options.port = 0;
  FakeClock clock;
  FakeStation station;
  FakeRecord record;
  const auto library = demo_library();
  const auto shop = demo_shop();
  DemoAccounts accounts(clock);
  hmi::Server server(options, station, record, library, shop, clock, accounts.get());
  CHECK_FALSE(server.start().ok());
  server.stop();
}

TEST_CASE("a server may stop and another take its port") {
  int port = 0;
  for (int i = 0; i < 3; ++i) {
    FakeClock clock;
    FakeStation station;
    FakeRecord record;
    const auto library = demo_library();
    const auto shop = demo_shop();
    hmi::ServerOptions options;
    options.port = port;
    DemoAccounts accounts(clock);
    hmi::Server server(options, station, record, library, shop, clock, accounts.get());
    port = server.start().value();
    Connection connection(port);
    connection.send(request_text({.path = "/api/v1/station"}));
    CHECK(connection.receive().status == 200);
  }
}
