#pragma once
#include <string>
#include <vector>

#include "bench_recipe.hpp"
#include "procedure/event.hpp"

/// The events that the exploration offers, each with the truth about it as the requirement sees it. The truth
/// is written down where the event is made; nothing here asks the core.
namespace shankwright::tests {

/// Which sensors the press has.
enum class Fitted { all_sensors, no_sensors };

/// Gauged size across flats against the limits and the gauge's uncertainty.
enum class Size : unsigned char { not_read, inside, over, under, over_and_under, near_limit };

/// What has truly been proven on the way to a state, kept apart from the state that the core keeps.
struct Truth {
  bool admitted = false, rope = false, shank = false, bore = false, depth_mark = false, boundary_mark = false;
  bool inserted = false;    ///< and nothing happened since that voids it
  bool placed = false;      ///< for the coming bite
  bool turned = true;       ///< this pass lies a proven quarter turn from the pass before
  bool in_the_dies = true;  ///< not taken out since the last bite, or proven to lie there again
  bool every_bite_good = true;
  bool permit_out = false, told = false;  ///< recorded; the press may know
  bool must_hold = false;
  double pass_angle_deg = 0;  ///< encoder angle of the present pass, once known
  int repeats = 0, re_presses = 0, bites_good = 0;
  double last_edge_mm = 0, placed_edge_mm = 0;
  Size size = Size::not_read;
  int go = 0, no_go = 0;                   ///< 0 not tried, 1 passes, 2 stops
  int growth = 0, slip = 0, straight = 0;  ///< 0 not read, 1 good, 2 low or bad, 3 high
  int surface = 0;                         ///< as procedure::Surface
  bool quarantine_waits = false;           ///< told of it while the press may be at work
  bool held_from_outside = false;          ///< nothing that was seen of the fitting itself speaks against it
  int proposed = 0;                        ///< 0 nothing, else 1 + procedure::Disposition, signed once
  int proof = 0;                           ///< newest proof load: 0 none, 1 good, 2 not
  bool proof_slipped = false;              ///< some proof load moved the rope
  bool operator==(const Truth&) const = default;
};

struct Offer {
  std::string name;
  procedure::Event event;
  bool sound = true;     ///< what it claims is true, complete and from trustworthy instruments
  double edge_mm = 0;    ///< positions
  double angle_deg = 0;  ///< turns and reseats, as the encoder would show it
  Size size = Size::not_read;
  int reading = 0;           ///< gauging: as in Truth
  bool hands = false;        ///< bite ended because the hands were let go, otherwise whole
  bool same_person = false;  ///< a signature by whoever signed the proposal that stands
  bool slips = false;        ///< a proof load that moved the rope
};

/// Everything that may be offered in this situation.
std::vector<Offer> menu(Fitted fitted, const procedure::State& state, const Truth& truth,
                        const recipe::JoinedRecipe& joined);

}  // namespace shankwright::tests
