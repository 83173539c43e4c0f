#pragma once

namespace shankwright::ports {
class ReviewPort;
}
namespace shankwright::jobs {
class JobBook;
}
namespace shankwright::workshop {
class Workshop;
}

namespace shankwright::hmi {

/// What reviewer, planner and technician work with beside the station. What is null is not there: its routes answer 503.
struct Desk {
  ports::ReviewPort* review = nullptr;
  jobs::JobBook* jobs = nullptr;
  workshop::Workshop* workshop = nullptr;
};

}  // namespace shankwright::hmi
