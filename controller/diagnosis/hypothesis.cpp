#include "diagnosis/hypothesis.hpp"

namespace shankwright::diagnosis {
namespace {

struct Row {
  std::string_view name, words, advice;
};

constexpr PerHypothesis<Row> rows{{
    {"good", "as the recipe expects", "Nothing to look for on this evidence."},
    {"no_rope", "no rope in the bore",
     "Look whether the rope is home: depth mark against the mouth, and whether it was pulled back before the "
     "bite."},
    {"softer_construction", "less metal in the bore than the recipe's rope has",
     "Compare the rope's construction and diameter with the lot on the reel: a softer construction or a "
     "thinner "
     "rope."},
    {"harder_construction", "more metal in the bore than the recipe's rope has",
     "Compare the rope's construction and diameter with the lot on the reel: a denser strand or a thicker "
     "rope."},
    {"oversize_shank", "a shank thicker than its drawing allows",
     "Measure the shank's diameter again on this lot of terminals, and the micrometer on its setting "
     "standard."},
    {"undersize_shank", "a shank thinner than its drawing allows",
     "Measure the shank's diameter again on this lot of terminals, and the micrometer on its setting "
     "standard."},
    {"solid_in_die", "solid material between the dies",
     "Look at the bore depth, the boundary mark and the die's edge: the die may stand past the end of the "
     "bore."},
    {"wrong_die", "dies of another size, or worn open",
     "Read the marking on both die halves, and measure the closed pair's across flats for wear."},
    {"weak_pump_or_air", "a weak pump, or air in the oil",
     "Check oil level and temperature, bleed the ram, and time an empty stroke against the press's own "
     "papers."},
    {"dry_dies", "more friction than lubricated dies have",
     "Clean and lubricate the dies, look for galling. A harder shank metal looks nearly the same: check the "
     "lot's certificate."},
    {"frame_or_gap_sensor", "a gap reading that is off, or moves with the force",
     "Close the empty dies and read the gap with the faces met, at low and at high pressure; look at the "
     "sensor's "
     "fixing and the frame."},
}};

constexpr std::size_t at(Hypothesis hypothesis) {
  return static_cast<std::size_t>(hypothesis);
}

}  // namespace

std::string_view name_of(Hypothesis hypothesis) {
  return rows.at(at(hypothesis)).name;
}
std::string_view words_of(Hypothesis hypothesis) {
  return rows.at(at(hypothesis)).words;
}
std::string_view advice_of(Hypothesis hypothesis) {
  return rows.at(at(hypothesis)).advice;
}
double prior_of(Hypothesis hypothesis) {
  constexpr double good = 0.95;
  return hypothesis == Hypothesis::good ? good : (1 - good) / (hypothesis_count - 1);
}

}  // namespace shankwright::diagnosis
