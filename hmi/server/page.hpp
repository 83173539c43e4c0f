#pragma once
#include <span>
#include <string_view>

#include "hmi/server/exchange.hpp"
#include "hmi/web/assets.hpp"

namespace shankwright::hmi {

/// One file of the page out of `assets`: as it is kept (gzip) for whoever accepts that, unpacked for the
/// rest; 404 when there is none of that path. Files under assets/ carry their content's hash in the name and
/// may be kept for good; everything else is asked for anew.
[[nodiscard]] Reply asset_reply(std::span<const Asset> assets, std::string_view path, bool accepts_gzip);

/// Unpacks gzip bytes (RFC 1952). Throws std::runtime_error for bytes that are not: they were packed by our
/// own build.
[[nodiscard]] std::string unpack_gzip(std::string_view bytes);

/// The text of hmi/openapi.yaml, embedded.
[[nodiscard]] std::string_view openapi_text();

}  // namespace shankwright::hmi
