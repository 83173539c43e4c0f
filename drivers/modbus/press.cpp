#include "drivers/modbus/press.hpp"

#include "drivers/modbus/link.hpp"

namespace shankwright::modbus {
namespace {

std::optional<Problem> check(const Options& options) {
  const auto within = [](const char* what, std::int64_t found, std::int64_t least,
                         std::int64_t most) -> std::optional<Problem> {
    if (found >= least && found <= most) return std::nullopt;
    return Problem{what, std::to_string(found), std::to_string(least) + " to " + std::to_string(most)};
  };
  if (auto problem = within("scan period in ms", options.scan_period_ms, 5, 1000)) return problem;
  if (auto problem = within("stale limit in ms", options.stale_ms, options.scan_period_ms, 10000))
    return problem;
  if (auto problem = within("frozen beat limit in ms", options.frozen_beat_ms, 20, 10000)) return problem;
  if (auto problem = within("beat interval in ms", options.beat_ms, 10, 100)) return problem;
  if (auto problem = within("order spacing in ms", options.order_spacing_ms, 0, 1000)) return problem;
  if (auto problem = within("lost notice in ms", options.lost_notice_ms, 10, 200)) return problem;
  if (auto problem = within("first back-off in ms", options.backoff_first_ms, 1, 60000)) return problem;
  if (auto problem =
          within("longest back-off in ms", options.backoff_most_ms, options.backoff_first_ms, 60000))
    return problem;
  if (auto problem = within("failures before reconnecting", options.failures_before_reconnect, 1, 100))
    return problem;
  return within("queued scans", static_cast<std::int64_t>(options.queued_scans), 2, 1000000);
}

}  // namespace

Result<std::shared_ptr<ModbusPress>> ModbusPress::open(const Options& options, const Profile& profile,
                                                       const ports::Clock& clock) {
  if (auto problem = check(options)) return *std::move(problem);
  const Result<Address> address = parse_address(options.address);
  if (!address.ok()) return address.problem();
  const auto client = Client::make(address.value(), options.unit_id, options.response_timeout_ms);
  if (!client.ok()) return client.problem();
  return std::shared_ptr<ModbusPress>(
      new ModbusPress(std::make_unique<Link>(options, profile, clock, client.value())));
}

ModbusPress::ModbusPress(std::unique_ptr<Link> link) : link_(std::move(link)) {}
ModbusPress::~ModbusPress() = default;

std::vector<ports::PressScan> ModbusPress::take_scans() {
  return link_->take_scans();
}
void ModbusPress::wait_for_scan(int timeout_ms) {
  link_->wait_for_scan(timeout_ms);
}
void ModbusPress::send(const ports::PressOrder& order, std::int64_t not_after_us) {
  link_->send(order, not_after_us);
}
std::vector<ports::Press::Dropped> ModbusPress::take_dropped() {
  return link_->take_dropped();
}
std::uint16_t ModbusPress::next_token() {
  return link_->next_token();
}
Statistics ModbusPress::statistics() const {
  return link_->statistics();
}

}  // namespace shankwright::modbus
