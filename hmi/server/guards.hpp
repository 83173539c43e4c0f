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

/// Nothing when a body of this Content-Type is taken: application/json, in UTF-8 when a charset is said.
[[nodiscard]] std::optional<Problem> check_content_type(std::string_view content_type);

/// Whether an Accept-Encoding header takes gzip (RFC 9110, 12.5.3): named, or covered by "*", and not at q=0.
[[nodiscard]] bool accepts_gzip(std::string_view accept_encoding);

}  // namespace shankwright::hmi
