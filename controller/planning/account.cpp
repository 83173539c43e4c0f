#include "planning/account.hpp"

#include <cmath>

namespace shankwright::planning {
namespace {

double middle(const recipe::Band& band) {
  return (band.least + band.most) / 2;
}
double half(const recipe::Band& band) {
  return (band.most - band.least) / 2;
}

/// A value known to lie within `half_width` and no more is known: standard uncertainty half width / sqrt 3,
/// times the coverage factor 2 (JCGM 100:2008, 4.3.7).
double expanded(double half_width) {
  return 2 * std::abs(half_width) / std::sqrt(3.0);
}

/// Of a share believed most near `taken`, never outside its bounds: triangle over the bounds with its peak
/// there (JCGM 100:2008, 4.3.9). The taken value is not the triangle's mean, so the difference counts too.
double expanded(const GrowthShare& s) {
  const double mean = (s.least + s.taken + s.most) / 3;
  const double variance = (s.least * s.least + s.taken * s.taken + s.most * s.most - s.least * s.taken -
                           s.least * s.most - s.taken * s.most) /
                          18;
  return 2 * std::sqrt(variance + (mean - s.taken) * (mean - s.taken));
}

/// Everything about one end that the account needs.
struct EndFacts {
  EndLengths lengths;
  GrowthShare share;
  recipe::Band pin_to_bore_end_mm, bore_depth_mm, growth_fraction;
  double swage_length_mm = 0;
  double insertion_half_mm = 0;
};

EndFacts facts_of(const recipe::JoinedRecipe& joined, const recipe::Band& pin_to_bore_end_mm,
                  const GrowthShare& share) {
  EndFacts out;
  out.share = share;
  out.pin_to_bore_end_mm = pin_to_bore_end_mm;
  out.bore_depth_mm = joined.terminal.bore_depth_mm;
  out.growth_fraction = joined.recipe.growth_fraction;
  out.swage_length_mm = joined.terminal.swage_length_mm;
  out.insertion_half_mm = std::hypot(joined.recipe.mark_tolerance_mm, joined.recipe.insertion_tolerance_mm);
  out.lengths = {middle(pin_to_bore_end_mm) + middle(out.bore_depth_mm), middle(out.bore_depth_mm),
                 middle(out.growth_fraction) * out.swage_length_mm, share.taken};
  return out;
}

class AccountWriter {
 public:
  AccountWriter(const Assembly& assembly, const recipe::Rope& rope, const Recipes& recipes)
      : assembly_(assembly), rope_(rope), recipes_(recipes) {}

  Account write(double cutting_tolerance_mm) {
    for (std::size_t i = 0; i < 2; ++i) facts_[i] = end_facts(assembly_.ends[i]);
    out_.modulus = elastic_modulus(rope_);
    out_.elastic_strain = elastic_strain(rope_, assembly_.tension_kn, out_.modulus.taken_mpa);
    constructional_ = assembly_.prestretched
                          ? recipe::Band{0, 0}
                          : assembly_.constructional_stretch.value_or(constructional_stretch_usual);
    out_.constructional_stretch = middle(constructional_);
    inputs_ = {assembly_.pin_to_pin_mm,
               {facts_[0].lengths, facts_[1].lengths},
               out_.elastic_strain,
               out_.constructional_stretch};
    out_.cut_length_mm = cut_length_mm(inputs_);
    out_.free_rope_under_tension_mm = free_rope_under_tension_mm(inputs_);
    out_.free_rope_at_rest_mm = free_rope_at_rest_mm(inputs_);
    stretched_ = (1 + out_.elastic_strain) * (1 + out_.constructional_stretch);

    add({LineKind::pin_to_pin,
         -1,
         assembly_.pin_to_pin_mm,
         0,
         0,
         {{"at a tension of", assembly_.tension_kn, TermUnit::force_kn}},
         "job",
         ""});
    for (const int end : {0, 1}) add_deduction(end);
    for (const int end : {0, 1}) add_growth(end);
    add_elastic_stretch();
    add_constructional_stretch();
    for (const int end : {0, 1}) add_insertion(end);
    for (const int end : {0, 1}) add_rope_grown_over(end);
    add({LineKind::cutting,
         -1,
         0,
         expanded(cutting_tolerance_mm),
         0,
         {{"cutter's tolerance", cutting_tolerance_mm}},
         "job",
         ""});
    for (std::size_t i = 0; i < 2; ++i) {
      out_.rope_inside_mm[i] = rope_inside_mm(inputs_.ends[i]);
      out_.growth_mm[i] = inputs_.ends[i].growth_mm;
    }
    combine();
    return std::move(out_);
  }

 private:
  [[nodiscard]] const End& end_of(int end) const { return assembly_.ends[static_cast<std::size_t>(end)]; }
  [[nodiscard]] const EndFacts& facts_of_end(int end) const { return facts_[static_cast<std::size_t>(end)]; }
  [[nodiscard]] const recipe::JoinedRecipe& joined_of(int end) const {
    return recipes_.at(end_of(end).recipe);
  }
  [[nodiscard]] bool swaged(int end) const { return end_of(end).making == EndMaking::swaged; }

  EndFacts end_facts(const End& end) const {
    if (end.making != EndMaking::swaged) {
      EndFacts out;
      out.lengths = {end.deduction_mm, end.insertion_mm, 0, 0};
      return out;
    }
    const recipe::JoinedRecipe& joined = recipes_.at(end.recipe);
    const auto pin = end.pin_to_bore_end_mm ? end.pin_to_bore_end_mm : joined.terminal.pin_to_bore_end_mm;
    return facts_of(joined, pin.value(), end.growth_share.value_or(default_growth_share(joined)));
  }

  void add(Line line) {
    running_mm_ += line.value_mm;
    line.running_mm = running_mm_;
    out_.lines.push_back(std::move(line));
  }

  void add_deduction(int end) {
    const EndFacts& f = facts_of_end(end);
    Line line{LineKind::end_deduction, end, -f.lengths.deduction_mm, 0, 0, {}, "", ""};
    if (swaged(end)) {
      // The bore depth is taken off here and put on again as insertion: the rope is marked by the depth
      // measured on its own terminal, so what is left of its scatter is its share of the stretch.
      line.terms = {{"pin to bore end", middle(f.pin_to_bore_end_mm)},
                    {"bore depth", middle(f.bore_depth_mm)}};
      line.uncertainty_mm = std::hypot(expanded(half(f.pin_to_bore_end_mm)) / stretched_,
                                       expanded(half(f.bore_depth_mm)) * (1 - 1 / stretched_));
      line.source = (end_of(end).pin_to_bore_end_mm ? "pin to bore end: job; bore depth: " : "") +
                    joined_of(end).terminal.id + ": " + joined_of(end).terminal.source;
    } else {
      line.terms = {{"pin to where the rope enters", f.lengths.deduction_mm}};
      line.uncertainty_mm = end_of(end).uncertainty_mm;
      line.source = given_by_job(end);
      line.given = true;
    }
    add(std::move(line));
  }

  void add_growth(int end) {
    if (!swaged(end)) return;
    const EndFacts& f = facts_of_end(end);
    // A millimetre more growth takes 1/stretched off here and puts (1 - share) on below.
    const double net = std::abs((1 - f.share.taken) - 1 / stretched_);
    add({LineKind::growth,
         end,
         -f.lengths.growth_mm,
         expanded(half(f.growth_fraction) * f.swage_length_mm) * net,
         0,
         {{"growth", middle(f.growth_fraction), TermUnit::share}, {"swage length", f.swage_length_mm}},
         recipe_named(end),
         "growth of " + end_of(end).recipe});
  }

  void add_elastic_stretch() {
    const double free_mm = out_.free_rope_under_tension_mm;
    const double at_rest_mm = free_mm / (1 + out_.elastic_strain);
    const double other = elastic_strain(rope_, assembly_.tension_kn, out_.modulus.other_mpa);
    // Two sources seldom lie on both sides of the truth: never less than a tenth, however well they agree.
    const double doubt = std::max(std::abs(other - out_.elastic_strain), 0.1 * std::abs(out_.elastic_strain));
    add({LineKind::elastic_stretch,
         -1,
         at_rest_mm - free_mm,
         expanded(doubt) * out_.free_rope_at_rest_mm / (1 + out_.elastic_strain),
         0,
         {{"tension", assembly_.tension_kn, TermUnit::force_kn},
          {"modulus on the metal area", out_.modulus.taken_mpa, TermUnit::stress_mpa},
          {"strain", out_.elastic_strain, TermUnit::share},
          {"free rope under tension", free_mm},
          {"strain by the other source", other, TermUnit::share},
          {"its modulus", out_.modulus.other_mpa, TermUnit::stress_mpa}},
         rope_.id + ": " + std::string(out_.modulus.taken_from) +
             "; other source: " + std::string(out_.modulus.other_from),
         ""});
  }

  void add_constructional_stretch() {
    const double before_mm = out_.free_rope_under_tension_mm / (1 + out_.elastic_strain);
    std::string source = "job";
    if (assembly_.prestretched) {
      source = "job: the rope is prestretched";
    } else if (!assembly_.constructional_stretch) {
      source = "default: a rope maker's \"under 1 %\" for small wire rope and strand";
    }
    add({LineKind::constructional_stretch,
         -1,
         out_.free_rope_at_rest_mm - before_mm,
         expanded(half(constructional_)) * out_.free_rope_at_rest_mm / (1 + out_.constructional_stretch),
         0,
         {{"constructional stretch", out_.constructional_stretch, TermUnit::share},
          {"free rope before it", before_mm}},
         source,
         ""});
  }

  void add_insertion(int end) {
    const EndFacts& f = facts_of_end(end);
    Line line{LineKind::insertion, end, f.lengths.insertion_mm, 0, 0, {}, "", ""};
    if (swaged(end)) {
      line.terms = {{"bore depth", f.lengths.insertion_mm},
                    {"mark tolerance", joined_of(end).recipe.mark_tolerance_mm},
                    {"insertion tolerance", joined_of(end).recipe.insertion_tolerance_mm}};
      line.uncertainty_mm = expanded(f.insertion_half_mm);
      line.source = joined_of(end).terminal.id + ", " + recipe_named(end);
    } else {
      line.terms = {{"rope inside the end", f.lengths.insertion_mm}};
      line.source = given_by_job(end);
      line.given = true;
    }
    add(std::move(line));
  }

  void add_rope_grown_over(int end) {
    if (!swaged(end)) return;
    const EndFacts& f = facts_of_end(end);
    const std::string share_from = end_of(end).growth_share
                                       ? "growth share: job"
                                       : "growth share: the rope's end stays at the bore end, as slip is "
                                         "gauged; bound: half the first bite";
    add({LineKind::rope_grown_over,
         end,
         (1 - f.share.taken) * f.lengths.growth_mm,
         expanded(f.share) * f.lengths.growth_mm,
         0,
         {{"growth of the shank", f.lengths.growth_mm},
          {"growth share", f.share.taken, TermUnit::share},
          {"least", f.share.least, TermUnit::share},
          {"most", f.share.most, TermUnit::share}},
         share_from,
         "growth share of " + end_of(end).recipe});
  }

  std::string recipe_named(int end) const {
    const recipe::Recipe& r = joined_of(end).recipe;
    return r.id + " revision " + std::to_string(r.revision);
  }
  std::string given_by_job(int end) const {
    return "GIVEN BY THE JOB, " + end_of(end).what + ": " + end_of(end).source;
  }

  void combine() {
    std::map<std::string, double> together;
    double squares = 0;
    for (const Line& line : out_.lines) {
      if (line.common_cause.empty()) {
        squares += line.uncertainty_mm * line.uncertainty_mm;
      } else {
        together[line.common_cause] += line.uncertainty_mm;
      }
    }
    for (const auto& [cause, sum] : together) squares += sum * sum;
    out_.uncertainty_mm = std::sqrt(squares);
  }

  const Assembly& assembly_;
  const recipe::Rope& rope_;
  const Recipes& recipes_;
  std::array<EndFacts, 2> facts_;
  recipe::Band constructional_;
  CutInputs inputs_;
  double stretched_ = 1;
  double running_mm_ = 0;
  Account out_;
};

}  // namespace

const LineWords& words_of(LineKind kind) {
  static const std::map<LineKind, LineWords> words{
      {LineKind::pin_to_pin,
       {"pin_to_pin", "pin to pin", "as ordered",
        "the length the assembly is to have at the stated tension"}},
      {LineKind::end_deduction,
       {"end_deduction", "end deduction", "pin to bore end + bore depth",
        "from the pin to the mouth there is terminal, not free rope"}},
      {LineKind::growth,
       {"growth", "growth of the shank", "growth x swage length",
        "the mouth moves outward by this when the shank is swaged"}},
      {LineKind::elastic_stretch,
       {"elastic_stretch", "elastic stretch",
        "free rope under tension x (1/(1 + strain) - 1), strain = T/(E C d^2)",
        "the rope is cut short by what the tension pulls it out"}},
      {LineKind::constructional_stretch,
       {"constructional_stretch", "constructional stretch", "free rope x (1/(1 + share) - 1)",
        "the strands bed in for good under the first loads"}},
      {LineKind::insertion,
       {"insertion", "insertion", "bore depth as measured on the terminal",
        "the rope goes home to the bore end"}},
      {LineKind::rope_grown_over,
       {"rope_grown_over", "rope the shank grows over", "(1 - growth share) x growth of the shank",
        "the rope the mouth moves over is in the piece already; the growth share of it goes to the far side, "
        "where "
        "the bore end leaves the rope's end, and lengthens the assembly"}},
      {LineKind::cutting,
       {"cutting", "cutting", "none", "the cutter's tolerance counts as uncertainty only"}}};
  return words.at(kind);
}

std::string_view formula_of(const Line& line) {
  return line.given ? "as given by the job" : words_of(line.kind).formula;
}

Account account_of(const Assembly& assembly, const recipe::Rope& rope, const Recipes& recipes,
                   double cutting_tolerance_mm) {
  return AccountWriter(assembly, rope, recipes).write(cutting_tolerance_mm);
}

double sample_cut_length_mm(const recipe::JoinedRecipe& joined, double free_length_mm,
                            const GrowthShare& share) {
  return free_length_mm + 2 * rope_inside_mm(facts_of(joined, {}, share).lengths);
}

}  // namespace shankwright::planning
