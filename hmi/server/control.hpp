#pragma once
#include <cstdint>
#include <functional>
#include <mutex>
#include <optional>
#include <shared_mutex>
#include <string>

namespace shankwright::hmi {

class Sessions;

/// Which screen drives the press: one session at a time. Held by the first that acts while nobody does, given
/// up at sign-out, at the end of a shift, with the session, and when its screen has been silent for
/// `silent_us_most`. The same person acting at another screen carries it along. Stopping something (withdraw,
/// open the dies, hold) wants no control. Safe from any thread. Times are Clock::monotonic_us() but for
/// since_utc_us.
class Control {
 public:
  /// A screen shows that it is there by what it asks and by following the events.
  static constexpr std::int64_t silent_us_most = 60'000'000;

  struct Holder {
    std::string token;  ///< of the session; never told to anybody
    std::string person_id, person_name;
    std::int64_t since_utc_us = 0;
    bool operator==(const Holder&) const = default;
  };
  struct Now {
    std::int64_t monotonic_us = 0, utc_us = 0;
  };

  explicit Control(const Sessions& sessions) : sessions_(sessions) {}

  /// Who holds it at this moment, or nothing.
  [[nodiscard]] std::optional<Holder> holder(std::int64_t now_us) const;
  /// Counts changes of the holder, so that a screen can be told of one at once.
  [[nodiscard]] std::uint64_t changes(std::int64_t now_us) const;

  /// For the time of one act: while it lasts, control does not change hands.
  class Act {
   public:
    [[nodiscard]] bool granted() const { return !held_elsewhere_; }
    [[nodiscard]] const std::optional<Holder>& held_elsewhere() const { return held_elsewhere_; }
    [[nodiscard]] bool newly_taken() const { return newly_taken_; }

   private:
    friend class Control;
    std::shared_lock<std::shared_mutex> lock_;
    std::optional<Holder> held_elsewhere_;
    bool newly_taken_ = false;
  };
  /// Takes control when nobody holds it. Not granted: somebody else's screen does.
  [[nodiscard]] Act begin(const std::string& token, const std::string& person_id,
                          const std::string& person_name, Now now);

  enum class TakeOver { taken, held_by_another, refused };
  /// Takes control from `from` (a person's id; empty: only if nobody holds it). When another screen holds it,
  /// `agreed` is asked with that holder while no act of theirs runs; `refused` is its no. `held_by_another`:
  /// the holder is not `from`.
  [[nodiscard]] TakeOver take(const std::string& token, const std::string& person_id,
                              const std::string& person_name, const std::string& from, Now now,
                              const std::function<bool(const Holder&)>& agreed);

  /// Nothing happens unless this session holds it. True when it did.
  bool give_up(const std::string& token);
  /// A sign of life of a session.
  void heard(const std::string& token, std::int64_t now_us);

 private:
  void drop_ended(std::int64_t now_us) const;
  void hold(const std::string& token, const std::string& person_id, const std::string& person_name, Now now);

  const Sessions& sessions_;
  std::shared_mutex acts_;  ///< shared by acts, alone for a change over somebody's head
  mutable std::mutex mutex_;
  mutable std::optional<Holder> holder_;
  mutable std::uint64_t changes_ = 0;
  std::int64_t heard_us_ = 0;
};

}  // namespace shankwright::hmi
