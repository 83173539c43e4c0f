#include "simulators/bench/bench.hpp"

#include <algorithm>
#include <bit>
#include <cmath>

/// Hands: what a person does to the part, with scatter (standard deviations below, invented: a practised
/// hand).
namespace shankwright::bench {

namespace {

constexpr double pen_mm = 0.12;
constexpr double home_mm = 0.08;  // how far from the bore end a rope pushed home really stands
constexpr double position_mm = 0.12;
constexpr double turn_deg = 0.6;
constexpr double mark_sensor_mm = 1.0;

Problem no_part() {
  return {"", "no part on the bench", "a part taken first"};
}

double wrapped_360(double angle) {
  const double rest = std::fmod(angle, 360);
  return rest < 0 ? rest + 360 : rest;
}

}  // namespace

Bench::Bench(std::uint64_t seed) : seed_(seed), random_(seed) {}

void Bench::note(double value) {
  digest_ = (digest_ ^ std::bit_cast<std::uint64_t>(value)) * 0x100000001B3u;
}

int Bench::new_part(const recipe::JoinedRecipe& joined, const PartWish& wish) {
  joined_ = joined;
  rope_choice_ = wish.rope;
  plant::Random draws = random_.fork(1);
  const plant::PartTruth truth = draw_part(joined, wish, draws);
  const plant::RopeTruth rope = draw_rope(joined, wish, draws);
  part_.emplace(truth, rope);
  in_dies_ = false;
  edge_mm_ = angle_deg_ = 0;
  flats_angle_deg_.reset();
  turned_to_deg_.reset();
  for (const double value : {truth.shank_od_mm, truth.bore_mm, truth.bore_depth_mm, rope.diameter_mm})
    note(value);
  return ++parts_;
}

Result<double> Bench::mark_depth(double aimed_from_rope_end_mm) {
  if (!part_) return no_part();
  if (rope_choice_ == RopeChoice::none) return Problem{"", "no rope", "a rope end to mark"};
  if (!(aimed_from_rope_end_mm > 0))
    return Problem{"", "a mark at or beyond the rope's end", "a distance above 0 mm"};
  const double at = aimed_from_rope_end_mm + random_.normal(0, pen_mm);
  part_->mark_depth(at);
  note(at);
  return at;
}

Result<double> Bench::mark_boundary(double aimed_from_mouth_mm) {
  if (!part_) return no_part();
  if (!(aimed_from_mouth_mm > 0))
    return Problem{"", "a mark at or beyond the mouth", "a distance above 0 mm"};
  const double at = aimed_from_mouth_mm + random_.normal(0, pen_mm);
  part_->mark_boundary(at);
  note(at);
  return at;
}

Result<double> Bench::insert(double short_by_mm) {
  if (!part_) return no_part();
  if (rope_choice_ == RopeChoice::none) return Problem{"", "no rope", "a rope end to insert"};
  if (part_->bitten()) return Problem{"", "a shank already pressed", "a shank that is still open"};
  const double short_by = std::max(0.0, short_by_mm) + std::abs(random_.normal(0, home_mm));
  if (!part_->insert_rope(short_by))
    return Problem{"", "a rope that does not go into the bore",
                   "a rope thinner than the bore, pushed in some way"};
  note(short_by);
  return short_by;
}

Result<double> Bench::pull_out() {
  if (!part_) return no_part();
  if (!part_->pull_rope_out()) return Problem{"", "a shank already pressed", "a shank that is still open"};
  return 0.0;
}

Result<double> Bench::position(double edge_mm) {
  if (!part_) return no_part();
  if (!std::isfinite(edge_mm) || edge_mm > part_->mouth_mm() + 5 || edge_mm < -part_->truth().solid_length_mm)
    return Problem{"", "a die edge off the shank", "a distance within the shank's length"};
  if (!in_dies_) angle_deg_ = wrapped_360(angle_deg_ + random_.normal(0, turn_deg / 2));
  in_dies_ = true;
  if (!flats_angle_deg_) flats_angle_deg_ = angle_deg_;
  edge_mm_ = part_->boundary_mark_mm().value_or(0) + edge_mm + random_.normal(0, position_mm);
  note(edge_mm_);
  note(angle_deg_);
  return edge_mm_;
}

Result<double> Bench::turn(double by_deg) {
  if (!part_) return no_part();
  if (!in_dies_) return Problem{"", "no shank in the dies", "the shank positioned first"};
  if (!std::isfinite(by_deg)) return Problem{"", "an angle that is not finite", "an angle"};
  angle_deg_ = wrapped_360(angle_deg_ + by_deg + random_.normal(0, turn_deg));
  note(angle_deg_);
  return angle_deg_;
}

void Bench::mount(const std::optional<recipe::DiePair>& pair, std::optional<double> wear_mm) {
  die_.reset();
  die_tag_ = 0;
  if (!pair) return;
  die_tag_ = pair->tag;
  // A pair is worn the same whenever it is mounted.
  const double drawn =
      std::min(0.012, std::abs(plant::Random(seed_ ^ (0x1D1Eu + pair->tag)).normal(0, 0.005)));
  plant::DieTruth die;
  die.shape = pair->shape == recipe::DieShape::hexagon ? plant::DieShape::hexagon : plant::DieShape::round;
  die.across_flats_mm = pair->across_flats_mm + wear_mm.value_or(drawn);
  die.length_mm = pair->length_mm;
  die_ = die;
  note(die.across_flats_mm);
}

bool Bench::mark_seen() const {
  if (!part_) return false;
  const auto distance = part_->depth_mark_to_mouth_mm();
  return distance && std::abs(*distance) <= mark_sensor_mm;
}

double Bench::edge_mm() const {
  return in_dies_ ? edge_mm_ : 0;
}

plant::Load& Bench::start_stroke() {
  if (!part_ || !in_dies_ || !die_) return air_;
  part_->start_bite(*die_, edge_mm_, angle_deg_);
  return *part_;
}

void Bench::finish_stroke() {
  if (!part_ || !part_->in_bite()) return;
  const int before = part_->bites();
  plant::Random draws = random_.fork(2);
  part_->finish_bite(draws);
  if (part_->bites() != before) {
    flats_angle_deg_ = angle_deg_;
    turned_to_deg_.reset();
  }
  note(part_->mouth_mm());
}

}  // namespace shankwright::bench
