#include "simulators/plant/part.hpp"

#include <algorithm>
#include <cmath>
#include <limits>

namespace shankwright::plant {

namespace {

constexpr double elastic_reach_mm = 1;   // more than any spring-back
constexpr double least_slice_mm = 0.01;  // a cut nearer to an existing one than this is that one
constexpr double block_n_per_mm_mm =
    20000;  // stiffness of metal the section model cannot squeeze, per mm of length
constexpr double holding_lengths = 4;  // rope diameters in the bore below which the wires push each other out
constexpr double wires_break_chance = 0.0004;  // in one bite over rope

}  // namespace

struct Part::Bite {
  struct Group {                     // slices with one history behave as one
    std::optional<Squeeze> squeeze;  // none: the shank is far too wide for this die, and stands like a block
    SectionInput input;
    SectionState before;
    double length_mm = 0;  // under the die when the bite began
    double stretch_before = 1;
    std::vector<std::size_t> slices;
  };
  DieTruth die;
  double angle_deg = 0;
  std::vector<Group> groups;
  double clear_gap_mm = 0;  // no metal is touched at wider gaps
  double reached_gap_mm = std::numeric_limits<double>::infinity();

  [[nodiscard]] double force_n(double gap_mm) const {
    if (gap_mm > clear_gap_mm) return 0;
    double force = 0, length = 0;
    for (const auto& group : groups) {
      if (!group.squeeze) {
        const double contact = 2 * (group.input.shank_od_mm - group.input.across_flats_mm);
        force += group.length_mm * block_n_per_mm_mm * std::max(0.0, contact - gap_mm);
        length += group.length_mm;
        continue;
      }
      const double stretch = (1 + group.squeeze->growth_at(std::min(gap_mm, reached_gap_mm))) /
                             std::exp(group.before.log_stretch);
      force += group.length_mm * stretch * group.squeeze->force_n_per_mm(gap_mm, reached_gap_mm);
      length += group.length_mm * stretch;
    }
    // Metal that has grown out past the die's edges is no longer pressed.
    return length > die.length_mm ? force * die.length_mm / length : force;
  }
};

Part::Part(const PartTruth& truth, const RopeTruth& rope) : truth_(truth), rope_(rope) {
  Slice solid, bore;
  solid.from_mm = -truth.solid_length_mm;
  solid.length_mm = truth.solid_length_mm;
  solid.bore = false;
  bore.length_mm = truth.bore_depth_mm;
  slices_ = {solid, bore};
}

Part::~Part() = default;
Part::Part(Part&&) noexcept = default;
Part& Part::operator=(Part&&) noexcept = default;

void Part::cut(double at_mm) {
  for (std::size_t i = 0; i < slices_.size(); ++i) {
    const double into = at_mm - slices_[i].from_mm;
    if (into < least_slice_mm || into > slices_[i].length_mm - least_slice_mm) continue;
    Slice rest = slices_[i];
    rest.from_mm = at_mm;
    rest.length_mm = slices_[i].length_mm - into;
    slices_[i].length_mm = into;
    slices_.insert(slices_.begin() + static_cast<std::ptrdiff_t>(i) + 1, std::move(rest));
    return;
  }
}

double Part::now(double as_made_mm) const {
  double position = 0;
  for (const auto& slice : slices_) {
    const double from = slice.from_mm, to = slice.from_mm + slice.length_mm;
    if (as_made_mm >= 0 && slice.bore)
      position += (std::clamp(as_made_mm, from, to) - from) * (1 + slice.growth);
    if (as_made_mm < 0 && !slice.bore)
      position -= (to - std::clamp(as_made_mm, from, to)) * (1 + slice.growth);
  }
  return position;
}

double Part::as_made(double now_mm) const {
  if (now_mm >= 0) {
    double left = now_mm;
    for (const auto& slice : slices_) {
      if (!slice.bore) continue;
      const double length = slice.length_mm * (1 + slice.growth);
      if (left <= length) return slice.from_mm + left / (1 + slice.growth);
      left -= length;
    }
    return truth_.bore_depth_mm + left;
  }
  double left = -now_mm;
  for (auto slice = slices_.rbegin(); slice != slices_.rend(); ++slice) {
    if (slice->bore) continue;
    const double length = slice->length_mm * (1 + slice->growth);
    if (left <= length) return slice->from_mm + slice->length_mm - left / (1 + slice->growth);
    left -= length;
  }
  return -truth_.solid_length_mm - left;
}

double Part::mouth_mm() const {
  return now(truth_.bore_depth_mm);
}

bool Part::insert_rope(double short_by_mm) {
  if (bitten() || in_bite() || rope_.diameter_mm > truth_.bore_mm) return false;
  pull_rope_out();
  rope_short_mm_ = std::clamp(short_by_mm, 0.0, truth_.bore_depth_mm);
  rope_in_ = truth_.bore_depth_mm - rope_short_mm_ > least_slice_mm;
  if (!rope_in_) return false;
  cut(rope_short_mm_);
  for (auto& slice : slices_) slice.roped = slice.bore && slice.from_mm > rope_short_mm_ - 2 * least_slice_mm;
  return true;
}

bool Part::pull_rope_out() {
  if (bitten() || in_bite()) return false;
  rope_in_ = false;
  for (auto& slice : slices_) slice.roped = false;
  return true;
}

void Part::mark_depth(double from_rope_end_mm) {
  depth_mark_mm_ = from_rope_end_mm;
}

void Part::mark_boundary(double from_mouth_mm) {
  boundary_mark_as_made_mm_ = as_made(mouth_mm() - from_mouth_mm);
}

std::optional<double> Part::depth_mark_to_mouth_mm() const {
  if (!depth_mark_mm_ || !rope_in_) return std::nullopt;
  return rope_short_mm_ + *depth_mark_mm_ + slip_mm_ - mouth_mm();
}

std::optional<double> Part::boundary_mark_mm() const {
  if (!boundary_mark_as_made_mm_) return std::nullopt;
  return now(*boundary_mark_as_made_mm_);
}

std::optional<double> Part::boundary_to_mouth_mm() const {
  if (!boundary_mark_as_made_mm_) return std::nullopt;
  return mouth_mm() - now(*boundary_mark_as_made_mm_);
}

SectionInput Part::input_for(const Slice& slice, const DieTruth& die) const {
  SectionInput input;
  input.shank_od_mm = truth_.shank_od_mm;
  input.bore_mm = slice.bore ? truth_.bore_mm : 0;
  if (slice.roped) input.rope = RopeCore{rope_.metal_area_factor, rope_.diameter_mm};
  input.flow = truth_.flow;
  input.friction = truth_.friction;
  input.grip = slice.roped ? rope_.grip : 0;
  input.shape = die.shape;
  input.across_flats_mm = die.across_flats_mm;
  return input;
}

void Part::start_bite(const DieTruth& die, double edge_mm, double angle_deg) {
  auto bite = std::make_unique<Bite>();
  bite->die = die;
  bite->angle_deg = angle_deg;
  cut(as_made(edge_mm));
  cut(as_made(edge_mm + die.length_mm));
  const double from = as_made(edge_mm), to = as_made(edge_mm + die.length_mm);
  for (std::size_t i = 0; i < slices_.size(); ++i) {
    const Slice& slice = slices_[i];
    const double middle = slice.from_mm + slice.length_mm / 2;
    if (middle <= from || middle >= to) continue;
    auto group = std::find_if(bite->groups.begin(), bite->groups.end(), [&](const Bite::Group& g) {
      const Slice& first = slices_[g.slices.front()];
      return first.bore == slice.bore && first.roped == slice.roped && first.state == slice.state;
    });
    if (group == bite->groups.end()) {
      Bite::Group fresh;
      fresh.input = input_for(slice, die);
      fresh.before = slice.state;
      fresh.stretch_before = std::exp(slice.state.log_stretch);
      if (fault_of(fresh.input) == nullptr) fresh.squeeze.emplace(fresh.input, slice.state, angle_deg);
      bite->groups.push_back(std::move(fresh));
      group = bite->groups.end() - 1;
    }
    group->length_mm += slice.length_mm * (1 + slice.growth);
    group->slices.push_back(i);
  }
  for (const auto& group : bite->groups) {
    const double contact = group.squeeze ? group.squeeze->first_contact_mm() + elastic_reach_mm
                                         : 2 * (group.input.shank_od_mm - group.input.across_flats_mm);
    bite->clear_gap_mm = std::max(bite->clear_gap_mm, contact);
  }
  bite_ = std::move(bite);
}

double Part::force_kn(double gap_mm) const {
  return bite_ ? bite_->force_n(gap_mm) / 1000 : 0;
}

void Part::reached(double gap_mm) {
  if (bite_) bite_->reached_gap_mm = std::min(bite_->reached_gap_mm, gap_mm);
}

void Part::finish_bite(Random& random) {
  if (!bite_) return;
  const std::unique_ptr<Bite> bite = std::move(bite_);
  bool pressed = false;
  double solid_mm = 0, roped_mm = 0;
  for (const auto& group : bite->groups) {
    if (!group.squeeze || bite->reached_gap_mm >= group.squeeze->first_contact_mm()) continue;
    const SectionState after = group.squeeze->after(bite->reached_gap_mm);
    const double growth = growth_after(group.input, after);
    pressed = true;
    if (group.input.bore_mm <= 0) solid_mm += group.length_mm;
    if (group.input.rope) roped_mm += group.length_mm;
    look_at(group.before, after, bite->die.shape, bite->angle_deg, random);
    for (const std::size_t i : group.slices) {
      slices_[i].state = after;
      slices_[i].growth = std::max(slices_[i].growth, growth);
      slices_[i].across_flats_mm = bite->die.across_flats_mm;
      slices_[i].shape = bite->die.shape;
    }
  }
  if (!pressed) return;
  ++bites_;
  // Unequal friction bends a little every time; solid metal beside a bore grows less than the bore and bends
  // much.
  bend_mm_ += std::abs(random.normal(0, 0.015)) + std::min(solid_mm, 10.0) * random.uniform(0.08, 0.2);
  if (roped_mm > 0) {
    if (!rope_locked_) {
      const double inserted = truth_.bore_depth_mm - rope_short_mm_;
      const double wanting = std::max(0.0, holding_lengths * rope_.diameter_mm - inserted);
      slip_mm_ += random.normal(0, 0.05) + wanting * random.uniform(0.15, 0.3);
    }
    rope_locked_ = true;
    if (random.chance(wires_break_chance) && surface_ == SurfaceTruth::sound)
      surface_ = SurfaceTruth::wires_broken;
  }
}

/// What the squeeze did to the skin. Earlier damage stays.
void Part::look_at(const SectionState& before, const SectionState& after, DieShape shape, double angle_deg,
                   Random& random) {
  const double period = shape == DieShape::hexagon ? 60 : 180;
  double lap_chance = 0;
  if (before.squeezes > 0 && after.log_stretch > before.log_stretch + 0.005) {
    double offset = std::fmod(std::abs(angle_deg - before.imprints.back().angle_deg), period);
    offset = std::min(offset, period - offset);
    // Flats that nearly repeat fold the ridge between them over: worst about 8 degrees off, nothing from 18
    // degrees.
    if (offset >= 0.5 && offset < 18) lap_chance = 0.7 * (1 - std::abs(offset - 8) / 10);
    if (shape == DieShape::round && offset < 0.5) lap_chance = 0.3;  // a fin closed on again
  }
  const bool lapped = random.chance(std::max(0.0, lap_chance));
  if (surface_ != SurfaceTruth::sound) return;
  if (after.strain > truth_.crack_strain)
    surface_ = SurfaceTruth::cracked;
  else if (lapped)
    surface_ = SurfaceTruth::lapped;
}

const Part::Slice& Part::slice_at(double now_mm) const {
  const double made = as_made(now_mm);
  for (const auto& slice : slices_)
    if (made < slice.from_mm + slice.length_mm) return slice;
  return slices_.back();
}

double Part::width_mm(double from_bore_end_mm, int pair) const {
  const Slice& slice = slice_at(from_bore_end_mm);
  if (slice.state.squeezes == 0) return diameter_mm(60.0 * pair);
  const SectionInput input = input_for(slice, {slice.shape, slice.across_flats_mm, 0});
  return widths_after_mm(input, slice.state).at(static_cast<std::size_t>(pair));
}

double Part::diameter_mm(double angle_deg) const {
  return truth_.shank_od_mm + truth_.ovality_mm / 2 * std::cos(2 * angle_deg * 3.14159265358979323846 / 180);
}

std::optional<Part::Extent> Part::swaged() const {
  std::optional<Extent> extent;
  for (const auto& slice : slices_) {
    if (!slice.bore || slice.state.squeezes == 0) continue;
    if (!extent) extent = Extent{now(slice.from_mm), 0};
    extent->to_mm = now(slice.from_mm + slice.length_mm);
  }
  return extent;
}

}  // namespace shankwright::plant
