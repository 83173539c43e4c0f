#include <catch2/catch.hpp>
#include <chrono>
#include <thread>

#include "client.hpp"
#include "hmi/server/events.hpp"

// The live stream, as a browser would read it. Waits are generous: what is checked is what arrives, not how
// fast the machine is.
using namespace shankwright;
using namespace shankwright::hmi_test;
using nlohmann::json;

namespace {

/// A client of the stream: takes the chunked coding apart and hands out events.
class Stream {
 public:
  explicit Stream(const Rig& rig) : connection_(rig.port) {
    connection_.send(request_text({.path = "/api/v1/events"}));
  }

  struct Event {
    std::string name, id;
    json data;
  };
  /// The next event, or nothing when none comes within `ms`.
  std::optional<Event> next(int ms = 5000) {
    const auto until = std::chrono::steady_clock::now() + std::chrono::milliseconds(ms);
    while (true) {
      decode(connection_.read_for(0));
      if (const auto end = text_.find("\n\n", at_); end != std::string::npos) {
        const std::string block = text_.substr(at_, end - at_);
        at_ = end + 2;
        return read(block);
      }
      if (std::chrono::steady_clock::now() >= until) return std::nullopt;
      decode(connection_.read_for(10));
    }
  }
  [[nodiscard]] const std::string& head() const { return head_; }
  Connection& connection() { return connection_; }

 private:
  void decode(const std::string& all) {
    if (head_.empty()) {
      const auto end = all.find("\r\n\r\n");
      if (end == std::string::npos) return;
      head_ = all.substr(0, end);
      raw_at_ = end + 4;
    }
    while (true) {
      const auto line = all.find("\r\n", raw_at_);
      if (line == std::string::npos) return;
      const std::size_t size = std::stoul(all.substr(raw_at_, line - raw_at_), nullptr, 16);
      if (size == 0 || all.size() < line + 2 + size + 2) return;
      text_ += all.substr(line + 2, size);
      raw_at_ = line + 2 + size + 2;
    }
  }
  static Event read(const std::string& block) {
    Event event;
    for (std::size_t at = 0; at < block.size();) {
      const auto end = std::min(block.find('\n', at), block.size());
      const std::string line = block.substr(at, end - at);
      if (line.starts_with("event: ")) event.name = line.substr(7);
      if (line.starts_with("id: ")) event.id = line.substr(4);
      if (line.starts_with("data: ")) event.data = json::parse(line.substr(6));
      at = end + 1;
    }
    return event;
  }

  Connection connection_;
  std::string head_, text_;
  std::size_t raw_at_ = 0, at_ = 0;
};

ports::Snapshot with_samples(std::uint16_t bite, std::size_t count, double pressure_bar = 100) {
  auto snapshot = demo_snapshot();
  snapshot.bite_samples_of = bite;
  for (std::size_t i = 0; i < count; ++i)
    snapshot.bite_samples.push_back({static_cast<std::uint32_t>(2 * i), pressure_bar, i == 0 ? 65.535 : 5.0});
  return snapshot;
}

/// Reads on until the event of this version.
Stream::Event event_of(Stream& stream, std::uint64_t version) {
  while (true) {
    const auto event = stream.next();
    REQUIRE(event);
    if (event->data.at("snapshot_version") == version) return *event;
  }
}

}  // namespace

TEST_CASE("the first event carries the whole station, and is the same as the station asked for") {
  const Rig rig;
  Stream stream(rig);
  const auto event = stream.next();
  REQUIRE(event);
  CHECK(stream.head().find("Content-Type: text/event-stream") != std::string::npos);
  CHECK(stream.head().find("Cache-Control: no-store") != std::string::npos);
  CHECK(event->name == "station");
  CHECK(event->id == "1");
  json data = event->data;
  CHECK(data.at("samples") == json{{"bite", 0}, {"from", 0}, {"rows", json::array()}});
  data.erase("samples");
  CHECK(data == rig.get("/api/v1/station").json());
}

TEST_CASE("an event carries only the samples this stream has not sent, and another bite begins anew") {
  Rig rig;
  rig.station.publish(with_samples(7, 3));  // version 2
  Stream stream(rig);
  const auto first = event_of(stream, 2).data.at("samples");
  CHECK(first ==
        json{{"bite", 7}, {"from", 0}, {"rows", {{0, 200.0, nullptr}, {2, 200.0, 5.0}, {4, 200.0, 5.0}}}});

  rig.station.publish(with_samples(7, 5));
  const auto second = event_of(stream, 3).data.at("samples");
  CHECK(second == json{{"bite", 7}, {"from", 3}, {"rows", {{6, 200.0, 5.0}, {8, 200.0, 5.0}}}});

  rig.station.publish(with_samples(8, 1));
  CHECK(event_of(stream, 4).data.at("samples") ==
        json{{"bite", 8}, {"from", 0}, {"rows", json::array({{0, 200.0, nullptr}})}});

  // A bite cut short keeps its number: fewer samples, or as many but others, are another bite.
  rig.station.publish(with_samples(8, 6, 50));
  CHECK(event_of(stream, 5).data.at("samples").at("from") == 0);
  CHECK(event_of(stream, 5).data.at("samples").at("rows").empty());  // a sign of life has nothing new
  rig.station.publish(with_samples(8, 2, 50));
  const auto shorter = event_of(stream, 6).data.at("samples");
  CHECK(shorter.at("from") == 0);
  CHECK(shorter.at("rows").size() == 2);

  // Another screen that comes now gets everything.
  Stream late(rig);
  CHECK(late.next()->data.at("samples").at("rows").size() == 2);
}

TEST_CASE("while nothing changes there is a sign of life each second") {
  // The promise itself, with the 100 ms that the server waits at a time; the rest is left to the machine.
  STATIC_REQUIRE(hmi::EventStream::apart_most + std::chrono::milliseconds(100) < std::chrono::seconds(1));
  const Rig rig;
  Stream stream(rig);
  REQUIRE(stream.next());
  for (int i = 0; i < 3; ++i) {
    const auto event = stream.next();
    REQUIRE(event);
    CHECK(event->id == "1");
    CHECK(event->data.at("samples").at("rows").empty());
  }
}

TEST_CASE(
    "while the press works, events come at ten to twenty a second, and none of the samples is lost or "
    "doubled") {
  Rig rig;
  Stream stream(rig);
  REQUIRE(stream.next());
  std::thread press([&] {
    for (std::size_t i = 1; i <= 200; ++i) {
      rig.station.publish(with_samples(9, i));
      std::this_thread::sleep_for(std::chrono::milliseconds(5));
    }
  });
  const auto began = std::chrono::steady_clock::now();
  std::size_t rows = 0, events = 0;
  while (rows < 200) {
    const auto event = stream.next();
    if (!event) break;
    const auto& samples = event->data.at("samples");
    if (samples.at("bite") != 9) continue;
    CHECK(samples.at("from") == rows);
    for (const auto& row : samples.at("rows")) CHECK(row.at(0) == 2 * rows++);
    ++events;
  }
  const double seconds = std::chrono::duration<double>(std::chrono::steady_clock::now() - began).count();
  press.join();
  CHECK(rows == 200);
  CHECK(static_cast<double>(events) <= 20 * seconds + 2);
  CHECK(events >= 5);
}

TEST_CASE("ages count on, and a station whose loop has stopped is no longer called fresh") {
  Rig rig;
  CHECK(rig.get("/api/v1/station").json().at("press").at("age_ms") == 10);
  CHECK(rig.get("/api/v1/station").json().at("press").at("fresh") == true);
  rig.clock.monotonic += 900'000;
  CHECK(rig.get("/api/v1/station").json().at("press").at("age_ms") == 910);
  CHECK(rig.get("/api/v1/station").json().at("press").at("fresh") == true);
  rig.clock.monotonic += 200'000;
  CHECK(rig.get("/api/v1/station").json().at("press").at("fresh") == false);
  Stream stream(rig);
  CHECK(stream.next()->data.at("press").at("fresh") == false);
}

TEST_CASE(
    "several screens follow at once; one more than there is room for is told so, and gets the place of one "
    "that leaves") {
  hmi::ServerOptions options;
  options.streams_most = 4;
  Rig rig(options);
  std::vector<std::unique_ptr<Stream>> screens;
  for (int i = 0; i < 4; ++i) {
    screens.push_back(std::make_unique<Stream>(rig));
    REQUIRE(screens.back()->next());
  }
  const auto fifth = rig.get("/api/v1/events");
  CHECK(fifth.status == 503);
  CHECK(fifth.header("retry-after") == "5");
  CHECK(fifth.json().at("problem").at("found") == "4 open event streams");
  CHECK(rig.call({.method = "HEAD", .path = "/api/v1/events"}).status == 200);

  rig.station.publish(with_samples(3, 4));
  for (auto& screen : screens) CHECK(event_of(*screen, 2).data.at("samples").at("rows").size() == 4);
  CHECK(rig.get("/api/v1/station").status == 200);  // requests go on beside the screens

  screens.pop_back();
  bool taken = false;
  for (int i = 0; i < 100 && !taken; ++i) {
    Stream again(rig);
    taken = again.next(200).has_value();
  }
  CHECK(taken);
}

TEST_CASE("a server that stops ends its streams and its waiting connections at once") {
  Rig rig;
  std::vector<std::unique_ptr<Stream>> screens;
  for (int i = 0; i < 6; ++i) {
    screens.push_back(std::make_unique<Stream>(rig));
    REQUIRE(screens.back()->next());
  }
  Connection idle(rig.port), half(rig.port);
  half.send("POST /api/v1/session HTTP/1.1\r\nContent-Le");
  const auto began = std::chrono::steady_clock::now();
  rig.server->stop();
  // Waiting connections are given two seconds and half requests five: far less shows that nobody waited for
  // them.
  CHECK(std::chrono::steady_clock::now() - began < std::chrono::milliseconds(1900));
  for (auto& screen : screens) CHECK(screen->connection().closes_within(1000));
  CHECK(idle.closes_within(1000));
  rig.server->stop();
}
