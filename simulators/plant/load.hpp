#pragma once

namespace shankwright::plant {

/// What the dies close on. The press asks for the force at gaps it is trying out and says which gap it really
/// reached.
class Load {
 public:
  virtual ~Load() = default;
  /// Force on the dies at this gap, kN, given what has been reached so far. Never negative, never falls as
  /// the gap closes, changes nothing that a later call can see.
  [[nodiscard]] virtual double force_kn(double gap_mm) const = 0;
  virtual void reached(double gap_mm) = 0;
};

/// Dies closing on air.
class NoLoad final : public Load {
 public:
  [[nodiscard]] double force_kn(double) const override { return 0; }
  void reached(double) override {}
};

}  // namespace shankwright::plant
