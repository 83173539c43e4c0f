#pragma once
#include <span>
#include <string_view>

/// The operator's page, built by Vite and embedded in the program: a station needs no files beside its binary.
namespace shankwright::hmi {

/// One file of the page. All three texts live as long as the program.
struct Asset {
  std::string_view path;          ///< as asked for over HTTP: "/index.html", "/assets/index-1a2b3c4d.js"
  std::string_view content_type;  ///< "text/html; charset=utf-8"
  std::string_view gzip_bytes;    ///< the file packed as RFC 1952, one member, no name and no time in its header
};

/// Every file of the page, by path. May be called from any thread.
[[nodiscard]] std::span<const Asset> web_assets();

}  // namespace shankwright::hmi
