#include <optional>

#include "hmi/server/route_answers.hpp"
#include "hmi/server/routes.hpp"
#include "label/label.hpp"
#include "papers/dossier_pdf.hpp"
#include "ports/ports.hpp"

namespace shankwright::hmi {
namespace {

struct Wanted {
  papers::PaperOptions paper;
  label::LabelSize size;
};

/// ?units=metric|inch, ?paper=a4|letter, ?size=30mmx15mm; a word that is none of these is a Problem at its
/// place.
Result<Wanted> wanted(const Service& service, const Request& request) {
  Wanted out;
  out.paper.issued_utc_us = service.clock.utc_us();
  for (const auto& [key, value] : request.query) {
    if (key == "units" && (value == "metric" || value == "inch")) {
      out.paper.units = value == "inch" ? quantity::UnitSystem::inch : quantity::UnitSystem::metric;
    } else if (key == "paper" && (value == "a4" || value == "letter")) {
      out.paper.size = value == "letter" ? papers::letter_size : papers::PageSize{};
    } else if (key == "size") {
      auto size = label::parse_size(value);
      if (!size) return Problem{"size", size.problem().found, size.problem().expected};
      out.size = size.value();
    } else if (key == "units" || key == "paper") {
      return Problem{key, value.substr(0, 80), key == "units" ? "metric or inch" : "a4 or letter"};
    } else {
      return Problem{key.substr(0, 80), value.substr(0, 80), "units, paper or size"};
    }
  }
  return out;
}

Reply file(std::string bytes, const char* type, const std::string& name) {
  Reply reply;
  reply.content_type = type;
  reply.body = std::move(bytes);
  reply.headers.emplace_back("Content-Disposition", "inline; filename=\"" + name + "\"");
  return reply;
}

/// 404 for an unknown serial, 409 for what the record holds but a paper must not say, 503 for its faults.
Reply refuse_paper(const Problem& problem) {
  return refuse(problem.place == "serial" ? 404 : papers::is_refusal(problem) ? 409 : 503, problem);
}

}  // namespace

Reply certificate(const Service& service, const Request& request) {
  const auto asked = wanted(service, request);
  if (!asked) return refuse(400, asked.problem());
  const auto certified = papers::certified_serial(service.record, request.serial);
  if (!certified) return refuse_paper(certified.problem());
  return file(papers::certificate_pdf(certified.value(), asked.value().paper), "application/pdf",
              "certificate-" + certified.value().fittings.front().row.serial + ".pdf");
}

Reply dossier_pages(const Service& service, const Request& request) {
  const auto asked = wanted(service, request);
  if (!asked) return refuse(400, asked.problem());
  auto pages = papers::dossier_pdf(service.record, request.serial, asked.value().paper);
  if (!pages) return refuse_paper(pages.problem());
  return file(std::move(pages).value(), "application/pdf", "dossier.pdf");
}

Reply fitting_label(const Service& service, const Request& request) {
  const auto asked = wanted(service, request);
  if (!asked) return refuse(400, asked.problem());
  const auto row = service.record.fitting(request.serial);
  if (!row) return refuse_paper(row.problem());
  auto made = label::to_svg(label::label_of(row.value(), asked.value().paper.units), asked.value().size);
  if (!made) return refuse(400, {"size", made.problem().found, made.problem().expected});
  return file(std::move(made).value(), "image/svg+xml", "label-" + row.value().serial + ".svg");
}

}  // namespace shankwright::hmi
