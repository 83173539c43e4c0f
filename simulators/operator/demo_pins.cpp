#include "simulators/operator/demo_pins.hpp"

#include <fcntl.h>
#include <fmt/format.h>
#include <unistd.h>

#include <cerrno>
#include <cstring>
#include <fstream>
#include <nlohmann/json.hpp>
#include <random>
#include <stdexcept>

namespace shankwright::demo {
namespace {

/// Four digits that the station does not call too simple.
std::string draw() {
  std::random_device random;  // the kernel's: a PIN is not to follow from the demo's seed
  for (;;) {
    const std::string pin = fmt::format("{:04}", random() % 10'000);
    const int step = (pin[1] - pin[0] + 10) % 10;
    const bool counts = (step == 0 || step == 1 || step == 9) && (pin[2] - pin[1] + 10) % 10 == step &&
                        (pin[3] - pin[2] + 10) % 10 == step;
    const bool repeats = pin.substr(0, 2) == pin.substr(2);
    if (!counts && !repeats) return pin;
  }
}

}  // namespace

DemoPins::DemoPins(std::string file) : file_(std::move(file)) {
  std::ifstream in(file_);
  if (!in) return;
  const auto json = nlohmann::json::parse(in, nullptr, false);
  const auto pins = json.is_object() ? json.value("pins", nlohmann::json()) : nlohmann::json();
  if (!pins.is_object()) throw std::runtime_error(fmt::format("{} is no file of demo PINs", file_));
  for (const auto& [person, pin] : pins.items()) pins_[person] = pin.get<std::string>();
}

const std::string& DemoPins::of(const std::string& person) const {
  static const std::string none;
  const auto found = pins_.find(person);
  return found == pins_.end() ? none : found->second;
}

const std::string& DemoPins::drawn_for(const std::string& person) {
  if (const auto found = pins_.find(person); found != pins_.end()) return found->second;
  pins_[person] = draw();
  keep();
  return pins_[person];
}

void DemoPins::keep() const {
  const std::string fresh = file_ + ".new";
  ::unlink(fresh.c_str());
  const int descriptor = ::open(fresh.c_str(), O_WRONLY | O_CREAT | O_EXCL | O_CLOEXEC, 0600);
  const std::string text =
      nlohmann::json{{"about", "PINs of a demo's invented people (demo data)"}, {"pins", pins_}}.dump(2) +
      "\n";
  const bool written =
      descriptor >= 0 && ::write(descriptor, text.data(), text.size()) == static_cast<ssize_t>(text.size());
  if (descriptor >= 0) ::close(descriptor);
  if (!written || ::rename(fresh.c_str(), file_.c_str()) != 0)
    throw std::runtime_error(fmt::format("{} cannot be written: {}", file_, std::strerror(errno)));
}

}  // namespace shankwright::demo
