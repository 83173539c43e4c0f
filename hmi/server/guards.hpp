#pragma once
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "quantity/result.hpp"

/// Checks on where a request comes from. They keep another site open in the same browser from driving the
/// press: Host against names rebound to this address, Origin against requests from other pages.
namespace shankwright::hmi {

/// Nothing when `host_header` names this station, whatever its port; the reason otherwise. Accepted:
/// localhost, 127.0.0.1, [::1], `bind_host`, and `further_names`; compared without regard to case.
[[nodiscard]] std::optional<Problem> check_host(std::string_view host_header, std::string_view bind_host,
                                                const std::vector<std::string>& further_names);

/// Nothing when the request carries no Origin or one of this very Host (name and port); the reason otherwise.
[[nodiscard]] std::optional<Problem> check_origin(std::string_view origin, std::string_view host_header);

/// Whether a request that passed check_origin comes from a page loaded by https.
[[nodiscard]] bool is_https(std::string_view origin);

/// Nothing when the browser says that a page of this station makes the request, or a person by hand; also
/// when it says nothing (Fetch Metadata, W3C: other programs do not send it). Reading may come from anywhere:
/// a link to this station is no attack, and other pages cannot see the answer.
[[nodiscard]] std::optional<Problem> check_fetch_site(std::string_view method,
                                                      std::string_view sec_fetch_site);

/// Nothing when a body of this Content-Type is taken: application/json, in UTF-8 when a charset is said.
[[nodiscard]] std::optional<Problem> check_content_type(std::string_view content_type);

/// Whether an Accept-Encoding header takes gzip (RFC 9110, 12.5.3): named, or covered by "*", and not at q=0.
[[nodiscard]] bool accepts_gzip(std::string_view accept_encoding);

}  // namespace shankwright::hmi
