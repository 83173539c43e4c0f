#pragma once
#include <filesystem>
#include <memory>

#include "fake_station.hpp"
#include "workshop/workshop.hpp"

namespace shankwright::hmi_test {

/// A workshop of the demo shop's press "press-1" with the shipped library, in a folder of its own. Demo data.
class DemoWorkshop {
 public:
  static constexpr auto recipe = "straight-shank-3-16-7x19", cell = "load-cell-1";

  DemoWorkshop(ports::RecordStore& record, const people::People& people, const ports::Clock& clock);
  DemoWorkshop(const DemoWorkshop&) = delete;
  DemoWorkshop& operator=(const DemoWorkshop&) = delete;
  ~DemoWorkshop();

  [[nodiscard]] workshop::Workshop& get() { return *workshop_; }
  [[nodiscard]] const std::filesystem::path& folder() const { return folder_; }

 private:
  std::filesystem::path folder_;
  std::unique_ptr<workshop::Workshop> workshop_;
};

}  // namespace shankwright::hmi_test
