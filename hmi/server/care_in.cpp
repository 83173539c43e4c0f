#include "hmi/server/care_in.hpp"

#include <array>
#include <nlohmann/json.hpp>
#include <vector>

#include "hmi/server/body_reader.hpp"
#include "hmi/server/json_text.hpp"
#include "quantity/as_written.hpp"

namespace shankwright::hmi {
namespace {

using Members = std::vector<std::string_view>;

bool blank(const std::string& text) {
  return text.find_first_not_of(" \t\r\n") == std::string::npos;
}

}  // namespace

Result<Quarantine> read_quarantine(std::string_view body, bool preview_known) {
  const auto json = parse_json(body);
  if (!json) return json.problem();
  Members known = {"item", "id", "reason"};
  if (preview_known) known.emplace_back("preview");
  BodyReader reader(json.value(), known);
  constexpr std::array<std::string_view, 4> items = {"rope_lot", "terminal_lot", "die_pair", "gauge"};
  constexpr std::array meant = {ports::Item::rope_lot, ports::Item::terminal_lot, ports::Item::die_pair,
                                ports::Item::gauge};
  Quarantine out;
  out.asked.item = meant.at(reader.choice("item", items));
  out.asked.id = reader.text("id", "the id of a lot, a die pair or a gauge");
  if (json.value().is_object() && json.value().contains("preview")) {
    const auto& preview = json.value()["preview"];
    if (!preview.is_boolean() && !reader.problem())
      return Problem{"/preview", quantity::as_written(preview.dump()), "true or false"};
    if (preview.is_boolean()) out.preview = preview.get<bool>();
  }
  if (!out.preview || reader.has("reason"))
    out.asked.reason = reader.free_text("reason", "the reason, up to 2000 bytes of text");
  if (reader.problem()) return *reader.problem();
  if (blank(out.asked.reason)) out.asked.reason.clear();  // refused by the station, where it is on record
  return out;
}

Result<ports::Correction> read_correction(std::string_view body) {
  const auto json = parse_json(body);
  if (!json) return json.problem();
  const Members known = {"of", "text", "reason"};
  BodyReader reader(json.value(), known);
  ports::Correction out;
  out.text = reader.free_text("text", "what is right, up to 2000 bytes of text");
  out.reason = reader.free_text("reason", "the reason, up to 2000 bytes of text");
  if (reader.problem()) return *reader.problem();
  const auto of = json.value().find("of");
  const std::string expected = "the number of an entry, see the dossier";
  if (of == json.value().end()) return Problem{"/of", "no such member", expected};
  if (!of->is_number_integer() || *of < 1 || *of > 9'007'199'254'740'991)
    return Problem{"/of", quantity::as_written(of->dump()), expected};
  out.of_sequence = of->get<std::int64_t>();
  if (blank(out.text)) out.text.clear();
  if (blank(out.reason)) out.reason.clear();
  return out;
}

}  // namespace shankwright::hmi
