#pragma once
#include <atomic>
#include <memory>
#include <mutex>
#include <optional>
#include <string>
#include <thread>

#include "ports/ports.hpp"
#include "trial/whole.hpp"

/// One trial at a time, on a thread of its own that gives way to everything else.
namespace shankwright::workshop {

struct TrialState {
  enum class Now { none, running, done, cancelled, failed };
  Now now = Now::none;
  std::uint64_t number = 0;  ///< of the trial, since the station was started
  std::string recipe;        ///< "id.rREVISION"
  std::string by;
  std::size_t fittings = 0;
  std::uint64_t seed = 0;
  std::int64_t begun_utc_us = 0;
  int runs_done = 0, runs_all = 0;  ///< of the section; all 0: not yet known
  std::size_t pressing = 0;         ///< fittings being pressed; 0: not yet there
  std::uint64_t report_number = 0;  ///< grows with every report that can be had
  Problem problem;                  ///< failed only
};
[[nodiscard]] const char* name_of(TrialState::Now now);

/// Any thread may call.
class TrialBench {
 public:
  explicit TrialBench(const ports::Clock& clock) : clock_(clock) {}
  TrialBench(const TrialBench&) = delete;
  TrialBench& operator=(const TrialBench&) = delete;
  ~TrialBench();  ///< ends what runs; under a second

  /// A Problem where one is running.
  [[nodiscard]] std::optional<Problem> start(const trial::WholeTrial& wanted, std::string recipe,
                                             std::string by);
  /// False where none is running. What had been found is kept until the next start.
  bool cancel();
  [[nodiscard]] TrialState state() const;
  /// The newest, of the first fittings while the others are pressed; null while there is none.
  [[nodiscard]] std::shared_ptr<const trial::Report> report() const;

 private:
  void work(const trial::WholeTrial& wanted);

  const ports::Clock& clock_;
  mutable std::mutex mutex_;
  TrialState state_;
  std::shared_ptr<const trial::Report> report_;
  std::atomic<bool> stop_{false};
  std::mutex starting_;
  std::thread thread_;
};

}  // namespace shankwright::workshop
