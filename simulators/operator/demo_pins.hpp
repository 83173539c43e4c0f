#pragma once
#include <map>
#include <string>

/// The PINs of a demo's invented people, kept beside its record so that a second run can go on. No real shop
/// keeps PINs: whoever has the file is everybody in it.
namespace shankwright::demo {

class DemoPins {
 public:
  /// Reads `file` (0600), or begins empty where there is none. Throws std::runtime_error for a file that
  /// cannot be read.
  explicit DemoPins(std::string file);

  /// The person's PIN; empty when they have none here.
  [[nodiscard]] const std::string& of(const std::string& person) const;
  /// The person's PIN; one drawn at random, and kept in the file, where they have none yet.
  const std::string& drawn_for(const std::string& person);

 private:
  void keep() const;

  std::string file_;
  std::map<std::string, std::string> pins_;
};

}  // namespace shankwright::demo
