#include <benchmark/benchmark.h>
#include <modbus/modbus.h>

#include <algorithm>
#include <chrono>
#include <cstdio>
#include <vector>

#include "drivers/modbus/scanner.hpp"
#include "tests/drivers/modbus_server.hpp"
#include "tests/drivers/steady_clock.hpp"

// What does the driver's scan cost on top of the wire? One and the same libmodbus server thread answers, in
// turns, a bare libmodbus loop that reads the window and the driver's scan (read, decode, sample and beat
// bookkeeping) while a bite is running: ten new samples in every scan. The goal is 0.9 of the bare loop's
// rate.

namespace {

using namespace shankwright;
using Steady = std::chrono::steady_clock;

double seconds_since(Steady::time_point start) {
  return std::chrono::duration<double>(Steady::now() - start).count();
}

void run_a_bite(std::uint16_t* input, std::uint64_t& answers) {
  ++answers;
  const std::uint64_t newest = 10 * answers;
  input[0] = 1;
  input[1] = static_cast<std::uint16_t>(answers);
  input[2] = 3;
  input[8] = 2100;
  input[19] = static_cast<std::uint16_t>(newest);
  input[20] = 25;
  input[21] = 1;
  for (std::uint64_t i = 0; i < 25; ++i) {
    std::uint16_t* sample = input + 25 + 3 * i;
    sample[0] = static_cast<std::uint16_t>(2 * (newest - 24 + i));
    sample[1] = static_cast<std::uint16_t>(newest + i);
    sample[2] = static_cast<std::uint16_t>(9000 - i);
  }
}

void scan_against_bare_libmodbus(benchmark::State& state) {
  const modbus::LoadedProfile loaded = modbus::load_profile(SOURCE_DIR "/drivers/profiles/reference.yaml");
  if (!loaded.ok()) return state.SkipWithError("no profile");
  test::ModbusServer server;
  server.keep_requests = false;
  std::uint64_t answers = 0;
  server.before_answer = [&](std::uint16_t* input, std::uint16_t*) { run_a_bite(input, answers); };

  const modbus::Address address = modbus::parse_address(server.address()).value();
  modbus_t* bare = modbus_new_tcp("127.0.0.1", address.port);
  const auto client = modbus::Client::make(address, 1, 1000).value();
  if (modbus_connect(bare) != 0 || !client->connect().ok()) return state.SkipWithError("no connection");
  const test::SteadyClock clock;
  modbus::Scanner scanner(loaded.profile, *client, clock, 60);

  constexpr int batch = 500;
  std::vector<std::uint16_t> window(loaded.profile.read_window.count);
  double bare_s = 0, driver_s = 0;
  std::vector<double> ratios;
  std::uint64_t samples = 0;
  for (auto _ : state) {
    const auto bare_start = Steady::now();
    for (int i = 0; i < batch; ++i)
      if (modbus_read_input_registers(bare, 0, 100, window.data()) != 100)
        return state.SkipWithError("bare read");
    const double bare_batch_s = seconds_since(bare_start);
    const auto driver_start = Steady::now();
    for (int i = 0; i < batch; ++i) {
      if (!scanner.scan_once().ok()) return state.SkipWithError("driver's scan");
      samples += scanner.scan().new_samples.size();
    }
    const double driver_batch_s = seconds_since(driver_start);
    state.SetIterationTime(driver_batch_s);
    bare_s += bare_batch_s;
    driver_s += driver_batch_s;
    ratios.push_back(bare_batch_s / driver_batch_s);
  }
  modbus_close(bare);
  modbus_free(bare);
  const double scans = static_cast<double>(batch) * static_cast<double>(ratios.size());
  std::nth_element(ratios.begin(), ratios.begin() + static_cast<std::ptrdiff_t>(ratios.size() / 2),
                   ratios.end());
  state.counters["bare_scans_per_s"] = scans / bare_s;
  state.counters["driver_scans_per_s"] = scans / driver_s;
  state.counters["ratio"] = ratios[ratios.size() / 2];
  state.counters["samples_per_scan"] = static_cast<double>(samples) / scans;
}
BENCHMARK(scan_against_bare_libmodbus)->UseManualTime()->Unit(benchmark::kMillisecond)->MinTime(3);

}  // namespace

BENCHMARK_MAIN();
