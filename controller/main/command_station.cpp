#include <fmt/core.h>
#include <spdlog/sinks/stdout_color_sinks.h>
#include <spdlog/spdlog.h>

#include <CLI/CLI.hpp>
#include <csignal>
#include <filesystem>

#include "accounts/accounts.hpp"
#include "drivers/modbus/press.hpp"
#include "drivers/modbus/profile.hpp"
#include "hmi/server/server.hpp"
#include "inspection/inspection.hpp"
#include "jobs/job_book.hpp"
#include "library/library.hpp"
#include "main/commands.hpp"
#include "main/system_clock.hpp"
#include "record/store.hpp"
#include "station/station.hpp"
#include "workshop/workshop.hpp"

namespace shankwright::command {
namespace {

volatile std::sig_atomic_t stop_asked = 0;
void ask_stop(int) {
  stop_asked = 1;
}

struct Wanted {
  std::string recipes = "recipes", shop, data = "data", press_id = "press-1", press = "tcp:127.0.0.1:1502";
  std::string profiles = "drivers/profiles", http = "127.0.0.1:8080", heads;
  std::vector<std::string> host_names;
  int unit = 1, scan_ms = 20, session_idle_h = 12, session_whole_h = 16;
  bool new_administrator_code = false;
};

int fail(int code, const std::string& text) {
  fmt::print(stderr, "shankwright station: {}\n", text);
  return code;
}

int list_faults(const std::string& of, const std::vector<Problem>& faults) {
  for (const Problem& fault : faults) fmt::print(stderr, "{}\n", fault.text());
  return fail(
      1, fmt::format("{} has {} fault{}; mend them first", of, faults.size(), faults.size() == 1 ? "" : "s"));
}

Result<hmi::ServerOptions> listen_on(const Wanted& wanted) {
  const auto colon = wanted.http.rfind(':');
  const Problem wrong{"--http", wanted.http, "HOST:PORT, for example 127.0.0.1:8080"};
  if (colon == std::string::npos || colon == 0) return wrong;
  const std::string port = wanted.http.substr(colon + 1);
  if (port.empty() || port.size() > 5 || port.find_first_not_of("0123456789") != std::string::npos ||
      std::stoi(port) > 65535)
    return wrong;
  hmi::ServerOptions options;
  options.host = wanted.http.substr(0, colon);
  options.port = std::stoi(port);
  options.host_names = wanted.host_names;
  options.press_id = wanted.press_id;
  options.session_idle_s = wanted.session_idle_h * 3600;
  options.session_whole_s = wanted.session_whole_h * 3600;
  return options;
}

/// People of the register go on record; who has no administrator yet, or has lost them, gets a way in.
Result<bool> open_the_door(accounts::Accounts& accounts, const library::Shop& shop, bool code_asked) {
  const auto enrolled = accounts.enrol(shop.people);
  if (!enrolled) return enrolled.problem();
  for (const auto& notice : enrolled.value().notices) spdlog::warn("{}", notice);
  for (const auto& notice : accounts.notices()) spdlog::warn("{}", notice);
  if (!code_asked && accounts.has_administrator()) return true;
  const auto code = accounts.new_administrator_code("console");
  if (!code) return code.problem();
  fmt::print("one-time code for {}: {}\n", accounts::Accounts::administrator_id, code.value().code);
  fmt::print(
      "Only whoever is to administer this station may read it: it sets that person's PIN, on the page, and "
      "ends\n"
      "with this process or once used. Clear it from any file this output is kept in.\n");
  return true;
}

/// Says once when the second place stops taking seals, and once when it does again: no work stops for it.
class HeadsWatch {
 public:
  explicit HeadsWatch(const record::SqliteStore& store) : store_(store) {}
  void look() {
    const auto trouble = store_.heads_trouble();
    if (trouble && !told_)
      spdlog::warn(
          "the second place of sealed heads: {}; it is caught up with at the next seal that finds it",
          trouble->text());
    if (!trouble && told_) spdlog::info("the second place of sealed heads has caught up");
    told_ = trouble.has_value();
  }

 private:
  const record::SqliteStore& store_;
  bool told_ = false;
};

int run(const Wanted& wanted) {
  // Logs go to standard error; standard output carries the way in for an administrator, where one is needed,
  // and one line when the station is ready.
  spdlog::set_default_logger(spdlog::stderr_color_mt("station"));
  spdlog::set_pattern("%Y-%m-%dT%H:%M:%S.%e%z %^%l%$ %v");

  auto http = listen_on(wanted);
  if (!http) return fail(2, http.problem().text());
  const library::Library library = library::load(wanted.recipes);
  for (const Problem& fault : library.faults) spdlog::warn("{} (left out)", fault.text());
  const auto press_data = library.presses.find(wanted.press_id);
  if (press_data == library.presses.end())
    return fail(1, fmt::format("there is no press \"{}\" in {}", wanted.press_id, wanted.recipes));
  const library::ShopResult shop = library::load_shop(wanted.shop, library);
  if (!shop.faults.empty()) return list_faults(wanted.shop, shop.faults);

  const auto profile_file = std::filesystem::path(wanted.profiles) / (press_data->second.profile + ".yaml");
  auto profile = modbus::load_profile(profile_file.string());
  if (!profile.ok()) return list_faults(profile_file.string(), profile.problems);

  const SystemClock clock;
  record::StoreOptions record_options;
  record_options.heads_file = wanted.heads;
  auto store = record::SqliteStore::open(wanted.data, record_options);
  if (!store) return fail(3, store.problem().text());
  modbus::Options link;
  link.address = wanted.press;
  link.unit_id = wanted.unit;
  link.scan_period_ms = wanted.scan_ms;
  auto press = modbus::ModbusPress::open(link, profile.profile, clock);
  if (!press) return fail(2, press.problem().text());

  station::StationOptions options;
  options.press_id = wanted.press_id;
  accounts::Options account_options;
  account_options.folder = wanted.data;
  auto accounts = accounts::Accounts::open(*store.value(), clock, account_options);
  if (!accounts) return fail(3, accounts.problem().text());
  station::Station station(options, clock, *press.value(), *store.value(), library, shop.shop,
                           *accounts.value());
  if (auto recovered = station.recover(); !recovered) return fail(3, recovered.problem().text());
  inspection::Inspection inspection(*store.value(), wanted.data, clock);
  jobs::JobBook job_book(*store.value(), clock);
  workshop::Workshop workshop({wanted.press_id, wanted.data, wanted.recipes}, *store.value(), library,
                              shop.shop, *accounts.value(), clock);
  hmi::Server server(http.value(), station, *store.value(), library, shop.shop, clock, *accounts.value(),
                     {&inspection, &job_book, &workshop});
  if (auto open = open_the_door(*accounts.value(), shop.shop, wanted.new_administrator_code); !open)
    return fail(3, open.problem().text());
  auto port = server.start();
  if (!port) return fail(3, port.problem().text());

  std::signal(SIGINT, ask_stop);
  std::signal(SIGTERM, ask_stop);
  fmt::print("station ready: http://{}:{}, press {}, record in {}\n", http.value().host, port.value(),
             wanted.press, wanted.data);
  std::fflush(stdout);
  HeadsWatch heads_watch(*store.value());
  while (stop_asked == 0) {
    station.tick();
    heads_watch.look();
  }
  server.stop();
  station.stop();
  return 0;
}

}  // namespace

void add_station(CLI::App& app, int& exit_code) {
  auto wanted = std::make_shared<Wanted>();
  CLI::App* command =
      app.add_subcommand("station", "Run the controller for one press: link, procedure, record, page");
  command->add_option("--shop", wanted->shop, "Shop register: people, lots, what falls due (YAML)")
      ->required()
      ->check(CLI::ExistingFile);
  command->add_option("--recipes", wanted->recipes, "Folder of the recipe library")->capture_default_str();
  command->add_option("--data", wanted->data, "Folder of the record; made where there is none")
      ->envname("SHANKWRIGHT_DATA")
      ->capture_default_str();
  command->add_option(
      "--heads", wanted->heads,
      "File on another disk that gets a line for every seal: shows a cut-off or older record");
  command->add_option("--press-id", wanted->press_id, "Which press of the library this is")
      ->capture_default_str();
  command->add_option("--press", wanted->press, "Where it answers: tcp:HOST:PORT or rtu:DEVICE:BAUD:8N1")
      ->capture_default_str();
  command->add_option("--unit", wanted->unit, "Modbus unit id")
      ->capture_default_str()
      ->check(CLI::Range(1, 247));
  command->add_option("--scan-ms", wanted->scan_ms, "Time between scans; above 40 samples are lost")
      ->capture_default_str()
      ->check(CLI::Range(5, 40));
  command->add_option("--profiles", wanted->profiles, "Folder of the register profiles")
      ->capture_default_str();
  command
      ->add_option("--http", wanted->http,
                   "Where the page is served; anything but loopback is your own choice")
      ->capture_default_str();
  command->add_option("--host-name", wanted->host_names, "Further name clients may reach this station by");
  command->add_option("--session-idle-hours", wanted->session_idle_h, "A session unused for longer has ended")
      ->capture_default_str()
      ->check(CLI::Range(1, 168));
  command
      ->add_option("--session-hours", wanted->session_whole_h,
                   "A session older than this has ended, however busy")
      ->capture_default_str()
      ->check(CLI::Range(1, 168));
  command->add_flag(
      "--new-administrator-code", wanted->new_administrator_code,
      "Print a one-time code for the account \"administrator\": when its PIN is lost. Recorded");
  command->footer("Example: shankwright station --shop shop.yaml --data data --press tcp:192.0.2.10:502");
  command->callback([wanted, &exit_code] { exit_code = run(*wanted); });
}

}  // namespace shankwright::command
