#include "hmi/server/guards.hpp"

#include <algorithm>
#include <cctype>

namespace shankwright::hmi {
namespace {

std::string lower(std::string_view text) {
  std::string out(text);
  std::transform(out.begin(), out.end(), out.begin(),
                 [](unsigned char c) { return static_cast<char>(std::tolower(c)); });
  return out;
}

std::string_view trim(std::string_view text) {
  while (!text.empty() && (text.front() == ' ' || text.front() == '\t')) text.remove_prefix(1);
  while (!text.empty() && (text.back() == ' ' || text.back() == '\t')) text.remove_suffix(1);
  return text;
}

std::string unbracketed(std::string name) {
  if (name.size() > 2 && name.front() == '[' && name.back() == ']') return name.substr(1, name.size() - 2);
  return name;
}

/// "name:port", "[v6]:port" or "name" to the bare lower-case name; empty when it is none of these.
std::string name_of_host(std::string_view host) {
  std::string_view name = host, port;
  if (!host.empty() && host.front() == '[') {
    const auto close = host.find(']');
    if (close == std::string_view::npos) return "";
    name = host.substr(0, close + 1);
    port = host.substr(close + 1);
  } else if (const auto colon = host.find(':'); colon != std::string_view::npos) {
    name = host.substr(0, colon);
    port = host.substr(colon);
  }
  const bool port_fits =
      port.empty() || (port.front() == ':' && std::all_of(port.begin() + 1, port.end(), [](unsigned char c) {
                         return std::isdigit(c) != 0;
                       }));
  return port_fits ? unbracketed(lower(name)) : "";
}

std::string shown(std::string_view text) {
  return text.empty() ? "nothing" : std::string(text.substr(0, 100));
}

/// Calls `take` with each trimmed piece between separators.
template <typename Take>
void split(std::string_view text, char separator, const Take& take) {
  while (true) {
    const auto at = text.find(separator);
    take(trim(text.substr(0, at)));
    if (at == std::string_view::npos) return;
    text.remove_prefix(at + 1);
  }
}

}  // namespace

std::optional<Problem> check_host(std::string_view host_header, std::string_view bind_host,
                                  const std::vector<std::string>& further_names) {
  const std::string name = name_of_host(host_header);
  std::vector<std::string> known = {"localhost", "127.0.0.1", "::1", unbracketed(lower(bind_host))};
  for (const auto& further : further_names) known.push_back(unbracketed(lower(further)));
  if (!name.empty() && std::find(known.begin(), known.end(), name) != known.end()) return std::nullopt;
  return Problem{"Host", shown(host_header),
                 "a name this station listens as, for example \"127.0.0.1:8080\""};
}

std::optional<Problem> check_origin(std::string_view origin, std::string_view host_header) {
  if (origin.empty()) return std::nullopt;
  const std::string given = lower(origin), host = lower(host_header);
  if (given == "http://" + host || given == "https://" + host) return std::nullopt;
  return Problem{"Origin", shown(origin), "a page of this station itself"};
}

bool is_https(std::string_view origin) {
  return lower(origin.substr(0, 8)) == "https://";
}

std::optional<Problem> check_fetch_site(std::string_view method, std::string_view sec_fetch_site) {
  const std::string site = lower(trim(sec_fetch_site));
  if (method == "GET" || method == "HEAD" || site.empty() || site == "same-origin" || site == "none")
    return std::nullopt;
  return Problem{"Sec-Fetch-Site", shown(sec_fetch_site), "a page of this station itself"};
}

std::optional<Problem> check_content_type(std::string_view content_type) {
  const Problem problem{"Content-Type", shown(content_type), "application/json"};
  bool first = true, fits = true;
  split(content_type, ';', [&](std::string_view piece) {
    const std::string part = lower(piece);
    if (first) fits = part == "application/json";
    if (!first && part.starts_with("charset="))
      fits = fits && (part == "charset=utf-8" || part == "charset=\"utf-8\"");
    first = false;
  });
  return fits ? std::nullopt : std::optional(problem);
}

bool accepts_gzip(std::string_view accept_encoding) {
  std::optional<bool> named, star;
  split(accept_encoding, ',', [&](std::string_view piece) {
    const auto semicolon = piece.find(';');
    const std::string coding = lower(trim(piece.substr(0, semicolon)));
    bool wanted = true;
    if (semicolon != std::string_view::npos) {
      const std::string weight = lower(trim(piece.substr(semicolon + 1)));
      wanted = !(weight.starts_with("q=0") && weight.find_first_of("123456789") == std::string::npos);
    }
    if (coding == "gzip") named = wanted;
    if (coding == "*") star = wanted;
  });
  return named.value_or(star.value_or(false));
}

}  // namespace shankwright::hmi
