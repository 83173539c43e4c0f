#include "hmi/server/page.hpp"

#include <zlib.h>

#include <stdexcept>

#include "hmi/server/route_answers.hpp"
#include "hmi/server/routes.hpp"

extern "C" {
extern const char shankwright_openapi_begin[];
extern const char shankwright_openapi_end[];
}

namespace shankwright::hmi {
namespace {

std::string_view without_slash(std::string_view path) {
  return path.starts_with('/') ? path.substr(1) : path;
}

}  // namespace

std::string unpack_gzip(std::string_view bytes) {
  z_stream stream{};
  if (inflateInit2(&stream, 15 + 16) != Z_OK)
    throw std::runtime_error("zlib does not start");                           // 16: expect gzip
  stream.next_in = reinterpret_cast<Bytef*>(const_cast<char*>(bytes.data()));  // zlib only reads here
  stream.avail_in = static_cast<uInt>(bytes.size());
  std::string out;
  int state = Z_OK;
  while (state == Z_OK) {
    char piece[16384];
    stream.next_out = reinterpret_cast<Bytef*>(piece);
    stream.avail_out = sizeof piece;
    state = inflate(&stream, Z_NO_FLUSH);
    out.append(piece, sizeof piece - stream.avail_out);
  }
  inflateEnd(&stream);
  if (state != Z_STREAM_END) throw std::runtime_error("an embedded file of the page is damaged");
  return out;
}

Reply asset_reply(std::span<const Asset> assets, std::string_view path, bool accepts_gzip) {
  const std::string_view wanted = path.empty() || path == "/" ? "index.html" : without_slash(path);
  for (const auto& asset : assets) {
    if (without_slash(asset.path) != wanted) continue;
    Reply reply;
    reply.content_type = asset.content_type;
    reply.body = accepts_gzip ? std::string(asset.gzip_bytes) : unpack_gzip(asset.gzip_bytes);
    if (accepts_gzip) reply.headers.emplace_back("Content-Encoding", "gzip");
    reply.headers.emplace_back("Vary", "Accept-Encoding");
    reply.headers.emplace_back(
        "Cache-Control", wanted.starts_with("assets/") ? "public, max-age=31536000, immutable" : "no-cache");
    return reply;
  }
  return refuse(404, {"path", "/" + std::string(wanted.substr(0, 100)),
                      "a path of openapi.yaml or a file of the page"});
}

std::string_view openapi_text() {
  return {shankwright_openapi_begin,
          static_cast<std::size_t>(shankwright_openapi_end - shankwright_openapi_begin)};
}

Reply page(const Service&, const Request& request) {
  return asset_reply(web_assets(), request.serial, request.accepts_gzip);
}

Reply openapi(const Service&, const Request&) {
  Reply reply;
  reply.content_type = "application/yaml; charset=utf-8";
  reply.body = openapi_text();
  reply.headers.emplace_back("Cache-Control", "no-cache");
  return reply;
}

}  // namespace shankwright::hmi
