#include "workshop/trial_bench.hpp"

#include <sys/resource.h>
#include <sys/syscall.h>
#include <unistd.h>

namespace shankwright::workshop {
namespace {

struct Stopped {};

/// On Linux a nice value belongs to one thread (setpriority(2), "C library/kernel differences").
void give_way() {
  (void)setpriority(PRIO_PROCESS, static_cast<id_t>(syscall(SYS_gettid)), 19);
}

}  // namespace

const char* name_of(TrialState::Now now) {
  switch (now) {
    case TrialState::Now::none:
      return "none";
    case TrialState::Now::running:
      return "running";
    case TrialState::Now::done:
      return "done";
    case TrialState::Now::cancelled:
      return "cancelled";
    case TrialState::Now::failed:
      break;
  }
  return "failed";
}

TrialBench::~TrialBench() {
  stop_ = true;
  if (thread_.joinable()) thread_.join();
}

std::optional<Problem> TrialBench::start(const trial::WholeTrial& wanted, std::string recipe,
                                         std::string by) {
  const std::lock_guard one_start(starting_);
  {
    const std::lock_guard lock(mutex_);
    if (state_.now == TrialState::Now::running)
      return Problem{"", "a trial of " + state_.recipe + " that " + state_.by + " has begun",
                     "its end, or its cancelling"};
    const std::uint64_t number = state_.number + 1, reports = state_.report_number;
    state_ = {};
    state_.now = TrialState::Now::running;
    state_.number = number;
    state_.report_number = reports;
    state_.recipe = std::move(recipe);
    state_.by = std::move(by);
    state_.fittings = wanted.fittings;
    state_.seed = wanted.seed;
    state_.begun_utc_us = clock_.utc_us();
    report_.reset();
  }
  if (thread_.joinable()) thread_.join();  // it has ended, or is about to
  stop_ = false;
  thread_ = std::thread([this, copy = wanted] { work(copy); });
  return std::nullopt;
}

bool TrialBench::cancel() {
  const std::lock_guard lock(mutex_);
  if (state_.now != TrialState::Now::running) return false;
  stop_ = true;
  return true;
}

TrialState TrialBench::state() const {
  const std::lock_guard lock(mutex_);
  return state_;
}

std::shared_ptr<const trial::Report> TrialBench::report() const {
  const std::lock_guard lock(mutex_);
  return report_;
}

void TrialBench::work(const trial::WholeTrial& wanted) {
  give_way();
  trial::WholeTrial alone = wanted;
  alone.threads = 1;  // the watch below throws, and leaves a core to the press
  const auto look = [this] {
    if (stop_) throw Stopped{};
  };
  const auto take = [this](const trial::Report& report) {
    const std::lock_guard lock(mutex_);
    report_ = std::make_shared<const trial::Report>(report);
    ++state_.report_number;
  };
  trial::WholeTrialWatch watch;
  watch.section_run = [&](int done, int all) {
    look();
    const std::lock_guard lock(mutex_);
    state_.runs_done = done;
    state_.runs_all = all;
  };
  watch.pressing = [&](std::size_t fittings) {
    look();
    const std::lock_guard lock(mutex_);
    state_.pressing = fittings;
  };
  watch.first_report = [&](const trial::Report& report) {
    take(report);
    look();
  };
  TrialState::Now end = TrialState::Now::failed;
  Problem problem{"trial", "a mistake in the station's own program", "a report"};
  try {
    const auto report = trial::run_whole(alone, watch);
    if (report) {
      look();
      take(report.value());
      end = TrialState::Now::done;
    } else {
      problem = report.problem();
    }
  } catch (const Stopped&) {
    end = TrialState::Now::cancelled;
  } catch (const std::exception& error) {
    problem.found = error.what();
  }
  const std::lock_guard lock(mutex_);
  state_.now = end;
  if (end == TrialState::Now::failed) state_.problem = problem;
}

}  // namespace shankwright::workshop
