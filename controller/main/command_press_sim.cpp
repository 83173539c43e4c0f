#include <fmt/core.h>

#include <CLI/CLI.hpp>
#include <charconv>
#include <csignal>
#include <cstdio>
#include <memory>
#include <optional>
#include <string>
#include <thread>
#include <vector>

#include "library/library.hpp"
#include "main/commands.hpp"
#include "quantity/quantity.hpp"
#include "simulators/node/bench_server.hpp"
#include "simulators/node/modbus_rtu.hpp"
#include "simulators/node/modbus_tcp.hpp"
#include "simulators/node/press_loop.hpp"
#include "simulators/node/press_node.hpp"

namespace shankwright::command {
namespace {

constexpr auto about =
    "Runs a simulated swaging press: pump, oil, ram, frame, part and sensors, the press node's own logic, "
    "and its\n"
    "registers over Modbus TCP (and RTU). A bench over HTTP stands for the person: parts, marks, hands, "
    "instruments.\n"
    "Everything it says is invented (demo data). It ends at SIGINT or SIGTERM.";

struct Address {
  std::string host;
  std::uint16_t port = 0;
};

struct Options {
  std::string listen = "127.0.0.1:1502";
  std::string bench = "127.0.0.1:8081";
  std::string recipes = "recipes";
  std::string press;
  node::SerialLine rtu;
  std::string parity = "N";
  std::uint64_t seed = 1;
  std::string mark_sensor = "fitted", angle_encoder = "fitted", position_sensor = "fitted";
  std::uint16_t die_tag = 0;
  std::vector<std::string> faults;
  int random_faults = 0;
  std::string random_faults_within = "60 s";
};

/// "HOST:PORT", with "[::1]:1502" for IPv6.
Result<Address> parse_address(const std::string& text) {
  const Problem problem{"address", "\"" + text + "\"",
                        "HOST:PORT, for example 127.0.0.1:1502; port 0 takes a free one"};
  const std::size_t colon = text.rfind(':');
  if (colon == std::string::npos || colon == 0) return problem;
  Address out{text.substr(0, colon), 0};
  if (out.host.front() == '[' && out.host.back() == ']') out.host = out.host.substr(1, out.host.size() - 2);
  const char* const end = text.data() + text.size();
  const auto [stopped, error] = std::from_chars(text.data() + colon + 1, end, out.port);
  if (error != std::errc() || stopped != end || out.host.empty()) return problem;
  return out;
}

std::string shown(const Address& address, std::uint16_t port) {
  return address.host.find(':') == std::string::npos ? fmt::format("{}:{}", address.host, port)
                                                     : fmt::format("[{}]:{}", address.host, port);
}

int complain(int exit_code, const Problem& problem) {
  fmt::print(stderr, "press-sim: {}\n", problem.text());
  return exit_code;
}

/// The press of the library that the simulated one is built like; nothing without a library.
Result<std::optional<recipe::Press>> choose_press(const library::Library& library, const std::string& id) {
  if (id.empty()) {
    if (library.presses.empty()) return std::optional<recipe::Press>();
    return std::optional(library.presses.begin()->second);
  }
  const auto found = library.presses.find(id);
  if (found != library.presses.end()) return std::optional(found->second);
  std::string known;
  for (const auto& [name, press] : library.presses) known += (known.empty() ? "" : ", ") + name;
  return Problem{"--press", "\"" + id + "\"",
                 known.empty() ? "a press of the library, which has none" : "one of " + known};
}

/// Blocks until SIGINT or SIGTERM. Both must have been blocked before any thread started.
void wait_for_the_end(const sigset_t& signals) {
  int signal = 0;
  while (::sigwait(&signals, &signal) != 0) {
  }
}

int run(const Options& options) {
  const auto listen = parse_address(options.listen);
  if (!listen.ok()) return complain(2, listen.problem());
  const auto bench_address = parse_address(options.bench);
  if (!bench_address.ok()) return complain(2, bench_address.problem());

  std::vector<node::FaultWindow> faults;
  for (const std::string& text : options.faults) {
    const auto fault = node::parse_fault(text);
    if (!fault.ok()) return complain(2, fault.problem());
    faults.push_back(fault.value());
  }
  if (options.random_faults > 0) {
    const auto within_ms = quantity::parse_duration_ms(options.random_faults_within);
    if (!within_ms.ok() || within_ms.value() <= 0) {
      return complain(
          2, {"--random-faults-within", options.random_faults_within, "a time, for example \"60 s\""});
    }
    for (const node::FaultWindow& window : node::random_windows(
             options.seed, options.random_faults, static_cast<std::int64_t>(within_ms.value()))) {
      fmt::print(stderr, "press-sim: fault drawn: {}\n", node::text_of(window));
      faults.push_back(window);
    }
  }

  const library::Library library = library::load(options.recipes);
  for (const Problem& fault : library.faults) fmt::print(stderr, "press-sim: {}\n", fault.text());
  if (library.recipes.empty()) {
    fmt::print(stderr, "press-sim: no recipe without faults under {}: the bench cannot draw parts\n",
               options.recipes);
  }

  node::NodeSettings settings;
  plant::PressTruth truth;
  const auto press = choose_press(library, options.press);
  if (!press.ok()) return complain(2, press.problem());
  if (press.value()) {
    truth.ram_area_mm2 = press.value()->ram_area_mm2;
    settings.target_bar_max = press.value()->pressure_max_bar;
    truth.relief_pressure_bar = settings.target_bar_max * 1.03;
    settings.limit_bar_max = settings.target_bar_max * 1.05;
  }
  settings.mark_sensor_fitted = options.mark_sensor == "fitted";
  settings.angle_encoder_fitted = options.angle_encoder == "fitted";
  settings.position_sensor_fitted = options.position_sensor == "fitted";

  std::optional<recipe::DiePair> mounted;
  for (const auto& [id, pair] : library.die_pairs) {
    if (options.die_tag != 0 && pair.tag == options.die_tag) mounted = pair;
  }
  if (options.die_tag != 0 && !mounted) {
    return complain(
        2, {"--die-tag", std::to_string(options.die_tag), "the tag of a die pair of the library, or 0"});
  }

  sigset_t signals;
  ::sigemptyset(&signals);
  ::sigaddset(&signals, SIGINT);
  ::sigaddset(&signals, SIGTERM);
  ::pthread_sigmask(SIG_BLOCK, &signals, nullptr);
  ::signal(SIGPIPE, SIG_IGN);

  node::PressNode node(settings, truth, options.seed, faults);
  if (mounted) node.with_bench([&mounted](bench::Bench& bench, bool) { bench.mount(mounted); });
  const node::BenchDesk desk(node, library);
  node.cycle();  // the first answers already show a press that runs

  const auto modbus = node::ModbusTcpServer::start(listen.value().host, listen.value().port, node,
                                                   node.link_faults(), options.seed);
  if (!modbus.ok()) return complain(3, modbus.problem());
  std::shared_ptr<node::ModbusRtuServer> serial;
  if (!options.rtu.device.empty()) {
    node::SerialLine line = options.rtu;
    line.parity = options.parity.front();
    const auto started = node::ModbusRtuServer::start(line, node, node.link_faults(), options.seed);
    if (!started.ok()) return complain(3, started.problem());
    serial = started.value();
  }
  const auto bench = node::BenchServer::start(bench_address.value().host, bench_address.value().port, desk);
  if (!bench.ok()) return complain(3, bench.problem());

  const node::PressLoop loop(node);
  fmt::print("press-sim ready: modbus {}, bench http://{}, seed {}\n",
             shown(listen.value(), modbus.value()->port()),
             shown(bench_address.value(), bench.value()->port()), options.seed);
  std::fflush(stdout);
  wait_for_the_end(signals);
  return 0;
}

}  // namespace

void add_press_sim(CLI::App& app, int& exit_code) {
  CLI::App* const command = app.add_subcommand("press-sim", about);
  const auto options = std::make_shared<Options>();
  command->add_option("--listen", options->listen, "Modbus TCP address; port 0 takes a free one")
      ->capture_default_str();
  command->add_option("--bench", options->bench, "HTTP address of the bench; port 0 takes a free one")
      ->capture_default_str();
  command->add_option("--recipes", options->recipes, "Folder of the engineering library")
      ->capture_default_str();
  command->add_option("--press", options->press,
                      "Press of the library to be built like; the first, when not given");
  command->add_option("--seed", options->seed, "Everything that is drawn comes from this number")
      ->capture_default_str();
  command->add_option("--die-tag", options->die_tag, "Die pair mounted at the start, 0 for none")
      ->capture_default_str();
  const CLI::IsMember fitted({"none", "fitted"});
  command->add_option("--mark-sensor", options->mark_sensor, "Sensor for the depth mark")
      ->check(fitted)
      ->capture_default_str();
  command->add_option("--angle-encoder", options->angle_encoder, "Encoder of the shank's angle")
      ->check(fitted)
      ->capture_default_str();
  command->add_option("--position-sensor", options->position_sensor, "Sensor for the die edge's distance")
      ->check(fitted)
      ->capture_default_str();
  command->add_option("--rtu", options->rtu.device, "Serial device to serve as Modbus RTU, besides TCP");
  command->add_option("--rtu-baud", options->rtu.baud, "9600, 19200, 38400, 57600 or 115200")
      ->capture_default_str();
  command->add_option("--rtu-parity", options->parity, "N, E or O")
      ->check(CLI::IsMember({"N", "E", "O"}))
      ->capture_default_str();
  command->add_option("--fault", options->faults,
                      "NAME[=VALUE][@START[+LENGTH]], for example link_dropped@20s+2s; may be given again");
  command
      ->add_option("--random-faults", options->random_faults, "That many fault windows, drawn from the seed")
      ->check(CLI::Range(0, 1000))
      ->capture_default_str();
  command->add_option("--random-faults-within", options->random_faults_within, "Time within which they begin")
      ->capture_default_str();
  std::string faults = "Faults:\n";
  for (const auto& fault : node::fault_descriptions()) {
    faults += fault.has_value ? fmt::format("  {}=VALUE, {} to {}\n", fault.name, fault.least, fault.most)
                              : fmt::format("  {}\n", fault.name);
  }
  command->footer(faults +
                  "\nExit status: 0 ended by a signal, 2 wrong usage,\n"
                  "3 the machine or its surroundings (port in use, no such device).\n"
                  "simulators/README.md says how the node reads the press map and what each fault does.");
  command->callback([options, &exit_code] { exit_code = run(*options); });
}

}  // namespace shankwright::command
