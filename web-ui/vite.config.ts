import { defineConfig, type Plugin } from "vite";

// While the page is worked on (`do.py dev`), what `racewright serve` answers; it takes questions from its own page only.
const FROM_ENGINE = ["/ask", "/records", "/pair", "/server.json", "/openapi.json", "/engine/racewright.zip"];
const ENGINE = "http://127.0.0.1:8642";
const asItsOwnPage = { target: ENGINE, changeOrigin: true, headers: { origin: ENGINE } };
const stylesAsTheyChange: Plugin = {
  name: "styles as they change",
  apply: "serve",
  transformIndexHtml: (html) => html.replace("style-src 'self'", "style-src 'self' 'unsafe-inline'"),
};

// Relative addresses throughout: the same files work at the root of a server and in any folder of a web host.
export default defineConfig({
  base: "./",
  plugins: [stylesAsTheyChange],
  build: {
    target: "es2022",
    outDir: "dist",
    emptyOutDir: true,
    sourcemap: false,
    chunkSizeWarningLimit: 900,
    modulePreload: { polyfill: false },
    assetsInlineLimit: 0,
  },
  worker: { format: "es" },
  server: { host: "127.0.0.1", strictPort: true, proxy: Object.fromEntries(FROM_ENGINE.map((path) => [path, asItsOwnPage])) },
});
