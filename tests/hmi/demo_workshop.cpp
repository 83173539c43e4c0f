#include "demo_workshop.hpp"

#include <stdlib.h>

#include <stdexcept>

namespace shankwright::hmi_test {
namespace {

const library::Library& shipped() {
  static const library::Library library = library::load(SOURCE_DIR "/recipes");
  return library;
}

const library::Shop& demo() {
  static const library::Shop shop = [] {
    library::Shop out;
    out.press_calibration_due_day["press-1"] = 22401;  // 2031-05-02, the fake clock's day
    out.gauge_calibration_due_day[DemoWorkshop::cell] = 22500;
    out.gauge_calibration_due_day["caliper-1"] = 22400;
    out.die_pairs["hex-3-16"] = {"D-1", 22410, 100};
    return out;
  }();
  return shop;
}

}  // namespace

DemoWorkshop::DemoWorkshop(ports::RecordStore& record, const people::People& people,
                           const ports::Clock& clock) {
  std::string text = (std::filesystem::temp_directory_path() / "shankwright-workshop.XXXXXX").string();
  if (::mkdtemp(text.data()) == nullptr) throw std::runtime_error("no folder for the test's workshop");
  folder_ = text;
  std::filesystem::create_directories(folder_ / "recipes");
  workshop_ = std::make_unique<workshop::Workshop>(workshop::WorkshopOptions{"press-1", folder_, folder_},
                                                   record, shipped(), demo(), people, clock);
}

DemoWorkshop::~DemoWorkshop() {
  workshop_.reset();
  std::filesystem::remove_all(folder_);
}

}  // namespace shankwright::hmi_test
