import { defineConfig } from "vite";

// The station the page talks to while it is being developed with `npm run dev`.
const station = process.env.SHANKWRIGHT_STATION ?? "http://127.0.0.1:8080";

export default defineConfig({
  base: "/",
  build: {
    target: "es2021",
    // The station sends "default-src 'self'": nothing may be inlined as data: or as a script in the page.
    assetsInlineLimit: 0,
    modulePreload: { polyfill: false },
    reportCompressedSize: false,
  },
  server: { proxy: { "/api": { target: station, changeOrigin: true } } },
});
