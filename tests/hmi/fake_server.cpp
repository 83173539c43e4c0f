#include <unistd.h>

#include <iostream>

#include "demo_accounts.hpp"
#include "demo_workshop.hpp"
#include "fake_review.hpp"
#include "fake_station.hpp"
#include "hmi/server/server.hpp"
#include "jobs/job_book.hpp"

/// The real HTTP server over the fakes: prints its port and answers until its input ends.
int main() {
  using namespace shankwright;
  hmi_test::FakeClock clock;
  hmi_test::FakeStation station;
  hmi_test::FakeRecord record;
  const auto library = hmi_test::demo_library();
  const auto shop = hmi_test::demo_shop();
  auto snapshot = hmi_test::demo_snapshot();
  snapshot.bite_samples_of = 7;
  for (std::uint32_t i = 0; i < 50; ++i)
    snapshot.bite_samples.push_back({i * 2, i * 3.5, i < 3 ? 65.535 : 8.0 - i * 0.1});
  station.publish(std::move(snapshot));
  hmi::ServerOptions options;
  options.port = 0;
  hmi_test::DemoAccounts accounts(clock);
  hmi_test::FakeReview review(record);
  jobs::JobBook jobs(accounts.store, clock);
  hmi_test::DemoWorkshop workshop(accounts.store, accounts.get(), clock);
  hmi::Server server(options, station, record, library, shop, clock, accounts.get(),
                     {&review, &jobs, &workshop.get()});
  const auto port = server.start();
  if (!port) {
    std::cerr << port.problem().text() << '\n';
    return 3;
  }
  std::cout << port.value() << std::endl;
  char byte = 0;
  while (::read(STDIN_FILENO, &byte, 1) > 0) {
  }
  return 0;
}
