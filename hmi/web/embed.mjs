// Packs the built page and writes what embeds it: node embed.mjs DIST OUT
// OUT gets one .gz per file, assets.S (the bytes, by .incbin) and assets.cpp (the table of hmi/web/assets.hpp).
// The same page always gives the same bytes: gzip headers carry no name and no time, and files come in sorted order.
import { mkdirSync, readdirSync, readFileSync, rmSync, writeFileSync } from "node:fs";
import { extname, join, relative, resolve, sep } from "node:path";
import { gzipSync } from "node:zlib";

const content_types = {
  ".html": "text/html; charset=utf-8",
  ".js": "text/javascript; charset=utf-8",
  ".css": "text/css; charset=utf-8",
  ".svg": "image/svg+xml",
};

const [dist, out] = process.argv.slice(2);
if (dist === undefined || out === undefined) {
  console.error("usage: node embed.mjs DIST OUT");
  process.exit(2);
}

function files_below(folder) {
  return readdirSync(folder, { withFileTypes: true }).flatMap((entry) => {
    const path = join(folder, entry.name);
    return entry.isDirectory() ? files_below(path) : [path];
  });
}

const packed = resolve(out, "packed");
rmSync(packed, { recursive: true, force: true });
mkdirSync(packed, { recursive: true });

const files = files_below(dist).map((path) => ({ path, name: "/" + relative(dist, path).split(sep).join("/") }));
files.sort((a, b) => (a.name < b.name ? -1 : 1));
let assembly = "/* Made by hmi/web/embed.mjs. */\n.section .rodata\n";
const symbols = [];
const table = [];
let total = 0;
files.forEach(({ path, name }, index) => {
  const type = content_types[extname(name)];
  if (type === undefined) {
    console.error(`${path}: found a file of an unknown type, expected one of ${Object.keys(content_types).join(", ")}`);
    process.exit(1);
  }
  const gz = join(packed, `${index}.gz`);
  const bytes = gzipSync(readFileSync(path), { level: 9 });
  total += bytes.length;
  writeFileSync(gz, bytes);
  const symbol = `shankwright_page_${index}`;
  assembly += `.global ${symbol}_begin\n.global ${symbol}_end\n.balign 16\n${symbol}_begin:\n.incbin "${gz}"\n${symbol}_end:\n.byte 0\n`;
  symbols.push(`extern const char ${symbol}_begin[];\nextern const char ${symbol}_end[];`);
  table.push(`    Asset{${JSON.stringify(name)}, ${JSON.stringify(type)}, bytes(${symbol}_begin, ${symbol}_end)},`);
});
assembly += '.section .note.GNU-stack,"",%progbits\n';

const source = `// Made by hmi/web/embed.mjs.
#include "hmi/web/assets.hpp"

#include <array>
#include <cstddef>

extern "C" {
${symbols.join("\n")}
}

namespace shankwright::hmi {
namespace {

std::string_view bytes(const char* begin, const char* end) {
  return {begin, static_cast<std::size_t>(end - begin)};
}

}  // namespace

std::span<const Asset> web_assets() {
  static const std::array assets{
${table.join("\n")}
  };
  return assets;
}

}  // namespace shankwright::hmi
`;
writeFileSync(join(out, "assets.S"), assembly);
writeFileSync(join(out, "assets.cpp"), source);
console.log(`page: ${files.length} files, ${total} bytes packed`);
