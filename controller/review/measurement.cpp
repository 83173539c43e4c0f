#include "review/measurement.hpp"

#include <algorithm>
#include <cmath>

#include "library/library.hpp"
#include "procedure/expectation.hpp"

namespace shankwright::review {
namespace {

constexpr double rounding = 1e-6;  // as the procedure has it: limits are written with few decimals

Against judged(const Measurement& read) {
  if (read.dimension == Dimension::words) {
    if (read.wanted.empty()) return Against::no_limits;
    return read.words == read.wanted ? Against::inside : Against::outside;
  }
  if (!read.least && !read.most) return Against::no_limits;
  // Only size across flats is judged with the gauge's uncertainty as a guard band.
  const double guard = read.event == "across_flats" ? read.expanded_uncertainty.value_or(0) : 0;
  auto out = Against::inside;
  for (const double value : read.values) {
    const double room =
        std::min(read.least ? value - *read.least : INFINITY, read.most ? *read.most - value : INFINITY);
    if (!(room >= -rounding)) return Against::outside;
    if (!(room >= guard - rounding)) out = Against::not_proven;
  }
  return out;
}

class Reader {
 public:
  explicit Reader(const Evidence& evidence)
      : evidence_(evidence), recipe_(at_path(evidence.recipe, {"recipe"})) {
    if (const auto joined = library::from_json(evidence.row.joined_recipe_json); joined.ok())
      joined_ = joined.value();
  }

  std::vector<Measurement> all() {
    for (const auto& entry : evidence_.entries) {
      if (entry.kind == "refused" || entry.kind == "correction") continue;
      take(entry);
    }
    for (auto& read : out_) read.against = judged(read);
    return std::move(out_);
  }

 private:
  using Limit = std::optional<double>;

  [[nodiscard]] Limit recipe_number(std::initializer_list<const char*> path) const {
    return number_at(recipe_, path);
  }
  [[nodiscard]] Limit part(std::initializer_list<const char*> path) const {
    return number_at(evidence_.recipe, path);
  }

  Measurement& add(const EntryEvidence& entry, std::string name, Dimension dimension,
                   std::vector<double> values) {
    for (auto& before : out_)
      if (before.event == entry.event && before.name == name && before.pass == of_bite(entry, "pass") &&
          before.bite == of_bite(entry, "bite"))
        before.superseded = true;
    Measurement read;
    read.sequence = entry.sequence;
    read.at_utc_us = entry.at_utc_us;
    read.event = entry.event;
    read.name = std::move(name);
    read.actor = entry.actor;
    read.gauge = entry.gauge;
    read.gauge_calibration_due = entry.gauge_calibration_due;
    read.expanded_uncertainty = number_at(entry.event_fields, {"tool", "expanded_uncertainty_mm"});
    read.dimension = dimension;
    read.values = std::move(values);
    read.pass = of_bite(entry, "pass");
    read.bite = of_bite(entry, "bite");
    return out_.emplace_back(std::move(read));
  }

  /// Pass and bite count for what is read once a bite or once a pass; anything else is read once a fitting.
  static std::optional<int> of_bite(const EntryEvidence& entry, const char* key) {
    const bool every_bite = entry.event == "bite_finished" || entry.event == "position";
    const bool every_pass = entry.event == "turn" || entry.event == "reseated";
    if (!every_bite && !(every_pass && std::string_view(key) == "pass")) return std::nullopt;
    const auto& value = at_path(entry.body, {key});
    return value.is_number_integer() ? std::optional(value.get<int>()) : std::nullopt;
  }

  void number(const EntryEvidence& entry, const char* key, const std::string& name, Limit least, Limit most) {
    const auto value = number_at(entry.event_fields, {key});
    if (!value) return;
    auto& read = add(entry, name, Dimension::length, {*value});
    read.least = least;
    read.most = most;
  }

  void words(const EntryEvidence& entry, const std::string& name, const char* wanted) {
    auto said = text_at(entry.event_fields, {"result"});
    if (said.empty()) return;
    auto& read = add(entry, name, Dimension::words, {});
    read.words = std::move(said);
    read.wanted = wanted;
  }

  void take(const EntryEvidence& entry) {
    const auto& event = entry.event;
    if (event == "rope_diameter") return rope_diameter(entry);
    if (event == "shank_diameter")
      return number(entry, "value_mm", "shank diameter", part({"terminal", "shank_diameter_mm", "least"}),
                    part({"terminal", "shank_diameter_mm", "most"}));
    if (event == "bore_depth") return bore_depth(entry);
    if (event == "depth_mark") return mark(entry, "from_rope_end_mm", "depth mark from the rope's end");
    if (event == "boundary_mark") {
      state_.boundary_mark_mm = number_at(entry.event_fields, {"from_mouth_mm"});
      return mark(entry, "from_mouth_mm", "boundary mark from the mouth");
    }
    if (event == "insertion") {
      state_.insertion_mm = number_at(entry.event_fields, {"mark_to_mouth_mm"});
      const auto tolerance = recipe_number({"insertion_tolerance_mm"});
      return number(entry, "mark_to_mouth_mm", "depth mark to mouth, rope home",
                    tolerance ? Limit(-*tolerance) : Limit(), tolerance);
    }
    if (event == "position") return position(entry);
    if (event == "turn") return turn(entry);
    if (event == "bite_finished") return bite(entry);
    if (event == "across_flats") return across_flats(entry);
    if (event == "go_gauge") return words(entry, "go gauge", "passes");
    if (event == "no_go_gauge") return words(entry, "no-go gauge", "stops");
    if (event == "growth") return growth(entry);
    if (event == "slip") return slip(entry);
    if (event == "straightness")
      return number(entry, "value_mm", "straightness", {}, recipe_number({"straightness_mm_max"}));
    if (event == "surface") return words(entry, "surface", "sound");
    if (event == "proof_load") return proof_load(entry);
    // Gauging before a re-press tells of a shank that has been squeezed again since.
    if (event == "judge" && entry.stage == "turn")
      for (auto& read : out_)
        if (read.event == "across_flats" || read.event == "go_gauge" || read.event == "no_go_gauge" ||
            read.event == "growth" || read.event == "slip" || read.event == "straightness" ||
            read.event == "surface")
          read.superseded = true;
  }

  static std::vector<double> numbers_of(const Json& list) {
    std::vector<double> out;
    if (list.is_number()) out.push_back(list.get<double>());
    if (list.is_array())
      for (const auto& item : list)
        for (const double value : numbers_of(item)) out.push_back(value);
    return out;
  }

  void rope_diameter(const EntryEvidence& entry) {
    auto values = numbers_of(at_path(entry.event_fields, {"readings_mm"}));
    if (values.empty()) return;
    auto& read = add(entry, "rope diameter", Dimension::length, std::move(values));
    read.least = part({"rope", "diameter_mm", "least"});
    read.most = part({"rope", "diameter_mm", "most"});
  }

  void bore_depth(const EntryEvidence& entry) {
    bore_depth_mm_ = number_at(entry.event_fields, {"value_mm"});
    number(entry, "value_mm", "bore depth", part({"terminal", "bore_depth_mm", "least"}),
           part({"terminal", "bore_depth_mm", "most"}));
  }

  /// Both marks belong at the measured bore depth.
  void mark(const EntryEvidence& entry, const char* key, const char* name) {
    const auto tolerance = recipe_number({"mark_tolerance_mm"});
    const bool known = bore_depth_mm_ && tolerance;
    number(entry, key, name, known ? Limit(*bore_depth_mm_ - *tolerance) : Limit(),
           known ? Limit(*bore_depth_mm_ + *tolerance) : Limit());
  }

  void position(const EntryEvidence& entry) {
    const auto& sensor = at_path(entry.event_fields, {"press", "position_sensor_fitted"});
    const bool by_sensor = sensor.is_boolean() && sensor.get<bool>();
    auto edge = number_at(entry.event_fields, {"edge_mm"});
    if (by_sensor) edge = number_at(entry.event_fields, {"press", "edge_distance_mm"});
    if (!edge) return;
    auto& read = add(entry, "die edge to the boundary mark", Dimension::length, {*edge});
    if (by_sensor) read.gauge = read.gauge.empty() ? "press's sensor" : "press's sensor, " + read.gauge;
    if (!joined_ || !read.pass || !read.bite) return;
    const auto plan = procedure::plan_of_pass(*read.pass, *joined_);
    const auto index = static_cast<std::size_t>(*read.bite - 1);
    if (*read.bite < 1 || index >= plan.size()) return;
    read.least = plan[index].accepted_mm.least;
    read.most = plan[index].accepted_mm.most;
  }

  static std::optional<double> turned_by_encoder(const EntryEvidence& entry) {
    if (!entry.angle_deg || !entry.previous_angle_deg) return std::nullopt;
    const double apart = std::fmod(std::fmod(*entry.angle_deg - *entry.previous_angle_deg, 360) + 360, 360);
    return std::min(apart, 360 - apart);
  }

  void turn(const EntryEvidence& entry) {
    const auto& fitted = at_path(entry.event_fields, {"press", "angle_encoder_fitted"});
    const bool by_encoder = fitted.is_boolean() && fitted.get<bool>();
    const auto turned = by_encoder ? turned_by_encoder(entry) : number_at(entry.event_fields, {"angle_deg"});
    if (!turned) return;
    auto& read = add(entry, "quarter turn", Dimension::angle, {*turned});
    if (by_encoder) read.gauge = "press's encoder";
    const auto wanted = recipe_number({"turn_deg"}), tolerance = recipe_number({"turn_tolerance_deg"});
    if (!wanted || !tolerance) return;
    read.least = *wanted - *tolerance;
    read.most = *wanted + *tolerance;
  }

  void bite(const EntryEvidence& entry) {
    const auto one = [&](const char* key, const char* name, Dimension dimension, Limit least, Limit most) {
      const auto value = number_at(entry.event_fields, {key});
      if (!value) return;
      auto& read = add(entry, name, dimension, {*value});
      read.least = least;
      read.most = most;
    };
    one("peak_force_kn", "peak force", Dimension::force, recipe_number({"peak_force_kn", "least"}),
        recipe_number({"peak_force_kn", "most"}));
    one("least_gap_mm", "least gap of the dies", Dimension::length, {}, recipe_number({"closed_gap_mm"}));
    one("dwell_ms", "dwell at force", Dimension::duration, recipe_number({"dwell_ms"}), {});
  }

  void across_flats(const EntryEvidence& entry) {
    auto values = numbers_of(at_path(entry.event_fields, {"stations_mm"}));
    if (values.empty()) return;
    auto& read = add(entry, "across flats", Dimension::length, std::move(values));
    read.least = recipe_number({"across_flats_mm", "least"});
    read.most = recipe_number({"across_flats_mm", "most"});
  }

  void growth(const EntryEvidence& entry) {
    state_.grown_mouth_mm = number_at(entry.event_fields, {"boundary_to_mouth_mm"});
    const auto grown = procedure::growth_fraction(state_, part({"terminal", "swage_length_mm"}).value_or(0));
    if (!grown) return number(entry, "boundary_to_mouth_mm", "boundary mark to mouth after pressing", {}, {});
    auto& read = add(entry, "growth", Dimension::fraction, {*grown});
    read.least = recipe_number({"growth_fraction", "least"});
    read.most = recipe_number({"growth_fraction", "most"});
  }

  void slip(const EntryEvidence& entry) {
    state_.slipped_mark_mm = number_at(entry.event_fields, {"mark_to_mouth_mm"});
    const auto slipped = procedure::slip_mm(state_);
    if (!slipped) return number(entry, "mark_to_mouth_mm", "depth mark to mouth after pressing", {}, {});
    auto& read = add(entry, "slip", Dimension::length, {*slipped});
    const auto most = recipe_number({"slip_mm_max"});
    read.least = most ? Limit(-*most) : Limit();
    read.most = most;
  }

  void proof_load(const EntryEvidence& entry) {
    const auto one = [&](const char* key, const char* name, Dimension dimension, double scale) {
      const auto value = number_at(entry.event_fields, {key});
      return value ? &add(entry, name, dimension, {*value * scale}) : nullptr;
    };
    if (auto* load = one("load_kn", "proof load", Dimension::force, 1))
      load->least = recipe_number({"proof", "load_kn"});
    if (auto* held = one("held_s", "proof load held", Dimension::duration, 1000))
      if (const auto least_s = recipe_number({"proof", "hold_s"})) held->least = *least_s * 1000;
    if (auto* slipped = one("slip_mm", "slip under proof load", Dimension::length, 1))
      slipped->most = recipe_number({"proof", "slip_mm_max"});
  }

  const Evidence& evidence_;
  const Json& recipe_;
  std::optional<recipe::JoinedRecipe> joined_;
  procedure::State state_;  // only what growth and slip follow from
  std::optional<double> bore_depth_mm_;
  std::vector<Measurement> out_;
};

}  // namespace

std::vector<Measurement> measurements(const Evidence& evidence) {
  return Reader(evidence).all();
}

}  // namespace shankwright::review
