#include <nlohmann/json.hpp>

#include "hmi/server/fitting_query.hpp"
#include "hmi/server/json_in.hpp"
#include "hmi/server/json_text.hpp"
#include "hmi/server/review_out.hpp"
#include "hmi/server/route_answers.hpp"
#include "hmi/server/routes.hpp"
#include "ports/review_port.hpp"
#include "review/fitting_lines.hpp"
#include "review/listing.hpp"

/// What a reviewer asks of the whole record: search, export, integrity.
namespace shankwright::hmi {
namespace {

Reply refuse_missing_door() {
  return refuse(503,
                {"", "a station whose record cannot be asked for this", "a station with its record open"});
}

constexpr std::size_t near_most = 5;

/// Lines gathered into pieces that are worth a call of the system.
class Pieces {
 public:
  explicit Pieces(const Write& write) : write_(write) {}
  std::string lines;
  [[nodiscard]] bool pass_on(bool rest) {
    constexpr std::size_t piece = 1U << 16U;
    if (lines.size() < piece && !rest) return true;
    const bool taken = lines.empty() || write_(lines);
    lines.clear();
    return taken;
  }

 private:
  const Write& write_;
};

Reply export_fittings(const Service& service, const Request& request, bool csv) {
  auto query = request.query;
  if (query.erase("limit") + query.erase("after") > 0)
    return refuse(400,
                  {"limit", "a page of an export", "neither limit nor after: an export has every fitting"});
  const auto read = read_fitting_query(query, known_names(service));
  if (!read) return refuse(400, read.problem());
  auto* const review = service.desk.review;
  if (review == nullptr) return refuse_missing_door();
  Reply reply;
  reply.content_type = csv ? "text/csv; charset=utf-8" : "application/json";
  reply.headers.emplace_back("Content-Disposition",
                             std::string("attachment; filename=\"fittings.") + (csv ? "csv\"" : "json\""));
  // An export that ends early for a fault of the record must not look whole: false cuts the connection off.
  reply.stream = [review, filter = read.value().filter, csv](const Write& write) {
    Pieces out(write);
    if (csv) review::append_csv_heading(out.lines);
    out.lines += csv ? "" : "[";
    bool taken = true, first = true;
    const auto done = review->each_fitting(filter, [&](const ports::FittingRow& row) {
      if (csv) {
        review::append_csv_line(out.lines, row);
      } else {
        out.lines += first ? "\n" : ",\n";
        review::append_json_members(out.lines, row);
        out.lines += '}';
      }
      first = false;
      return taken = out.pass_on(false);
    });
    if (!done || !taken) return false;
    out.lines += csv ? "" : "\n]\n";
    return out.pass_on(true);
  };
  return reply;
}

}  // namespace

Reply find_fittings(const Service& service, const Request& request) {
  const auto read = read_fitting_query(request.query, known_names(service));
  if (!read) return refuse(400, read.problem());
  const auto& [filter, asked] = read.value();
  const auto listing = review::list(service.record, filter);
  if (!listing) return refuse(listing.problem().place == "after" ? 400 : 503, listing.problem());
  Reply reply;
  if (!asked) {
    reply.body = review::listing_json(listing.value());
    return reply;
  }
  Json body = Json::parse(review::listing_json(listing.value()));
  body["reading"] = to_json(*asked);
  body["near"] = Json::array();
  const bool nothing = listing.value().rows.empty() && filter.after_serial.empty();
  if (nothing && !asked->serial_typed.empty() && service.desk.review != nullptr) {
    const auto near = service.desk.review->serials_near(asked->serial_typed, near_most);
    if (!near) return refuse(503, near.problem());
    body["near"] = near.value();
  }
  reply.body = dump_json(body);
  return reply;
}

Reply export_csv(const Service& service, const Request& request) {
  return export_fittings(service, request, true);
}
Reply export_json(const Service& service, const Request& request) {
  return export_fittings(service, request, false);
}

Reply integrity(const Service& service, const Request&) {
  if (service.desk.review == nullptr) return refuse_missing_door();
  Reply reply;
  reply.body = dump_json(to_json(service.desk.review->verification(), service.clock.utc_us()));
  return reply;
}

Reply verify_whole(const Service& service, const Request& request) {
  if (const auto nothing = read_nothing(request.body); !nothing) return refuse(400, nothing.problem());
  if (service.desk.review == nullptr) return refuse_missing_door();
  const bool begun = service.desk.review->verify_whole(request.person->id);
  Reply reply;
  reply.status = begun ? 202 : 200;
  Json body = to_json(service.desk.review->verification(), service.clock.utc_us());
  body["begun"] = begun;
  reply.body = dump_json(body);
  return reply;
}

Reply fitting_integrity(const Service& service, const Request& request) {
  if (service.desk.review == nullptr) return refuse_missing_door();
  const auto proof = service.desk.review->prove(request.serial);
  if (!proof) return refuse(proof.problem().place == "serial" ? 404 : 503, proof.problem());
  Reply reply;
  reply.body = dump_json(to_json(proof.value()));
  return reply;
}

}  // namespace shankwright::hmi
